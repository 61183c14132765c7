"""The words that are sung: a row for each verse under the staff.

A syllable stands under the middle of its head; one that is sung on over further heads begins
with its own. Where syllables would touch they give way to both sides, as little as they can.
Between the syllables of a word stand hyphens, one or more by the room; after the last
syllable of a word a line runs to the last head that it is sung on, if the source says so or
the note is tied, and goes on over a line break. Where a piece has several verses each begins
with its number. (Common practice of vocal music; Gould, Behind Bars, 2011, from memory.)
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise, takewhile

from apoyando.engraving.drawing.shapes import Piece, Shape, Stroke, Text
from apoyando.engraving.drawing.typeface import CAP_HEIGHT_EM
from apoyando.engraving.rows.ground import LINE, Ground, Head, RowLine, lowered
from apoyando.engraving.rows.spreading import spread
from apoyando.engraving.staff.layout import LYRIC_EM, SPACE, WORD_SPACE
from apoyando.model.arrangement import Arrangement, Role
from apoyando.model.song import Lyric
from apoyando.model.time import Quarters

LYRIC = "lyric"

HYPHEN_ROOM = 0.9 * SPACE
"""The least between two syllables of a word."""
HYPHEN_EVERY = 9 * SPACE
HYPHEN = 0.55 * SPACE
GAP = 0.9 * SPACE
LEADING = 1.12 * LYRIC_EM
LEAST_LINE = 0.9 * SPACE
"""A shorter line after a syllable says nothing."""
GOES_ON = frozenset({"begin", "middle"})
TAKES_UP = frozenset({"middle", "end"})


@dataclass(frozen=True, slots=True)
class _Syllable:
    """``number`` hangs before it. ``until``: where the last head that it is sung on ends.

    ``goes_on``: the next syllable is of the same word.
    """

    lyric: Lyric
    head: Head
    until: float
    is_held: bool
    goes_on: bool
    number: str = ""

    @property
    def room_after(self) -> float:
        return HYPHEN_ROOM if self.goes_on else WORD_SPACE

    @property
    def piece(self) -> Piece:
        return Piece(self.number + self.lyric.text, LYRIC_EM)

    @property
    def left(self) -> float:
        """Where it would begin if it were alone."""
        hanging = Piece(self.number, LYRIC_EM).width
        own = self.piece.width - hanging
        middle = self.head.box.left if self.is_held else self.head.box.middle[0] - own / 2
        return middle - hanging


def lyric_rows(line: RowLine, ground: Ground) -> Iterator[Shape]:
    """The verses that have words on this line, each upon the one before."""
    if not any(head.note.lyrics for head in line.heads):
        return
    sung = _sung_heads(line)
    baseline: float | None = None
    for verse in sorted({lyric.verse for head in sung for lyric in head.note.lyrics}):
        shapes = tuple(_set_verse(verse, sung, line))
        if shapes:
            if baseline is None:
                reach = (ground.bottom(box.left, box.right) for shape in shapes for box in shape.boxes())
                baseline = max(reach) + GAP + CAP_HEIGHT_EM * LYRIC_EM
            yield from (Shape(LYRIC, "", lowered(shape.drawing, baseline)) for shape in shapes)
            baseline += LEADING


def _sung_heads(line: RowLine) -> list[Head]:
    """The heads of the tune and whatever else has words, one at a moment, in order of time."""
    heads = [head for head in line.heads if head.note.role is Role.MELODY or head.note.lyrics]
    by_moment = {head.onset: head for head in sorted(heads, key=lambda h: bool(h.note.lyrics))}
    return [by_moment[onset] for onset in sorted(by_moment)]


def _set_verse(verse: int, sung: Sequence[Head], line: RowLine) -> Iterator[Shape]:
    """The row of one verse on a baseline at 0."""
    syllables = _syllables(verse, sung, line.arrangement)
    widths = [syllable.piece.width for syllable in syllables]
    rooms = [syllable.room_after for syllable in syllables]
    lefts = spread([s.left for s in syllables], widths, rooms, (0.0, line.system.right))
    texts = [Text((syllable.piece,), x, 0) for syllable, x in zip(syllables, lefts, strict=True)]
    yield from _carried_line(verse, sung, texts, line)
    for text in texts:
        yield Shape(LYRIC, "", text)
    ends = [*(text.left for text in texts[1:]), *([line.system.right] if texts else [])]
    for syllable, text, end in zip(syllables, texts, ends, strict=True):
        right = text.left + text.width
        yield from _hyphens(right, end) if syllable.goes_on else _held_line(right, end, syllable)


def _syllables(verse: int, sung: Sequence[Head], arrangement: Arrangement) -> list[_Syllable]:
    first = _first_of(verse, arrangement)
    found: list[_Syllable] = []
    for place, head in enumerate(sung):
        lyric = _lyric_of(head, verse)
        if lyric and head.is_struck:
            number = f"{verse}. " if head.onset == first and not lyric.text[:1].isdigit() else ""
            held = _held_heads(lyric, sung[place:], verse)
            goes_on = lyric.syllabic in GOES_ON and _is_taken_up(verse, head.onset, arrangement)
            found.append(_Syllable(lyric, head, held[-1].box.right, len(held) > 1, goes_on, number))
    return found


def _is_taken_up(verse: int, onset: Quarters, arrangement: Arrangement) -> bool:
    """Whether the next syllable goes on with a word; sources forget it."""
    later = (note for note in arrangement.notes if note.onset > onset)
    sung = min(
        (n for n in later if any(y.verse == verse for y in n.lyrics)), key=lambda n: n.onset, default=None
    )
    return sung is not None and any(y.syllabic in TAKES_UP for y in sung.lyrics if y.verse == verse)


def _first_of(verse: int, arrangement: Arrangement) -> Quarters | None:
    """Where a verse begins; None where it is the only one and has no number."""
    onsets = {lyric.verse: note.onset for note in reversed(arrangement.notes) for lyric in note.lyrics}
    return onsets.get(verse) if len(onsets) > 1 else None


def _lyric_of(head: Head, verse: int) -> Lyric | None:
    return next((lyric for lyric in head.note.lyrics if lyric.verse == verse), None)


def _held_heads(lyric: Lyric, heads: Sequence[Head], verse: int) -> list[Head]:
    """The first head and those after it that its syllable is sung on."""
    note = heads[0].note
    held = [heads[0]]
    for before, head in pairwise(heads):
        is_joined = before.event.onset + before.event.duration == head.onset
        is_next = head.note is not note and (not lyric.is_held or _lyric_of(head, verse) is not None)
        if is_next or not is_joined:
            break
        held.append(head)
    return held


def _carried_line(verse: int, sung: Sequence[Head], texts: Sequence[Text], line: RowLine) -> Iterator[Shape]:
    """The line of a syllable that is sung on from the line before."""
    before = [n for n in line.arrangement.notes if n.onset < line.bars[0].onset]
    sounded = max(
        (n for n in before if any(y.verse == verse for y in n.lyrics)), key=lambda n: n.onset, default=None
    )
    if sounded is None:
        return
    lyric = next(y for y in sounded.lyrics if y.verse == verse)
    ahead = takewhile(lambda h: h.note is sounded or (lyric.is_held and not _lyric_of(h, verse)), sung)
    held = list(ahead)
    if held and lyric.syllabic not in GOES_ON:
        end = texts[0].left - WORD_SPACE if texts else line.system.right
        yield from _stroke(line.system.music_left, min(held[-1].box.right, end))


def _held_line(right: float, end: float, syllable: _Syllable) -> Iterator[Shape]:
    if syllable.is_held:
        yield from _stroke(right + 0.2 * SPACE, min(syllable.until, end - 0.3 * SPACE))


def _stroke(left: float, right: float) -> Iterator[Shape]:
    if right - left >= LEAST_LINE:
        yield Shape(LYRIC, "", Stroke(((left, 0.0), (right, 0.0)), LINE))


def _hyphens(left: float, right: float) -> Iterator[Shape]:
    """At even distances in the gap."""
    count = max(1, round((right - left) / HYPHEN_EVERY))
    height = -0.24 * LYRIC_EM
    for number in range(count):
        middle = left + (right - left) * (2 * number + 1) / (2 * count)
        ends = ((middle - HYPHEN / 2, height), (middle + HYPHEN / 2, height))
        if right - left >= HYPHEN:
            yield Shape(LYRIC, "", Stroke(ends, LINE))
