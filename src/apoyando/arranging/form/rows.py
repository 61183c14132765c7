"""The piece as a row of bars taken from the song, and the song written anew from it."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import accumulate, pairwise

from apoyando.model.harmony import Chord, HarmonySpan
from apoyando.model.song import Bar, Barline, MelodyNote, Song
from apoyando.model.time import Quarters, Span

MOST_PLAYED = 32
"""No stretch is written to be played more often than this."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One bar of the piece: a bar of the song, with the marks that it gets.

    ``source`` is its index in the song; None where the accompaniment plays alone on
    ``chord``. The bar keeps the time that it has in the song; ``length`` is how much of it
    is played, from its start.
    """

    bar: Bar
    source: int | None
    length: Quarters
    chord: Chord | None = None
    is_introduction: bool = False

    @property
    def span(self) -> Span:
        """What is played, in the song's time."""
        return Span(self.bar.onset, self.bar.onset + self.length)

    def is_followed_by(self, other: "Row") -> bool:
        """Whether the music runs on into another row as in the song, or the chord goes on."""
        if self.source is None:
            return other.source is None
        is_whole = self.length == self.bar.duration and self.is_introduction == other.is_introduction
        return is_whole and other.source == self.source + 1


def take_bar(song: Song, index: int) -> Row:
    """A bar with the marks that it has in the song."""
    bar = song.bars[index]
    return Row(bar=bar, source=index, length=bar.duration)


def take_plainly(song: Song, order: Sequence[int]) -> list[Row]:
    """Bars written one after another in this order, without repeats and jumps."""
    rows = [_unmarked(take_bar(song, index)) for index in order]
    return [*rows[:-1], _with_barline(rows[-1], Barline.FINAL)]


def _unmarked(row: Row) -> Row:
    bar = row.bar
    is_plain = bar.barline is Barline.REGULAR and not bar.repeat_times
    plain = replace(
        bar,
        starts_repeat=False,
        repeat_times=0,
        repeats_after_jump=False,
        endings=(),
        ending_stops=False,
        jumps=(),
        jump_words="",
        barline=Barline.REGULAR if is_plain else Barline.DOUBLE,
    )
    return replace(row, bar=plain)


def _with_barline(row: Row, barline: Barline) -> Row:
    return replace(row, bar=replace(row.bar, barline=barline))


def fold_repeats(rows: Sequence[Row]) -> list[Row]:
    """Stretches that come again at once are written once, between repeat signs."""
    folded: list[Row] = []
    now = 0
    while now < len(rows):
        length, times = _find_repeat(rows, now)
        stretch = list(rows[now : now + length])
        folded += _between_signs(stretch, times) if times > 1 else stretch
        now += length * times
    return folded


def _find_repeat(rows: Sequence[Row], start: int) -> tuple[int, int]:
    """How long the stretch from here is that saves most when written once, and how often it comes."""
    keys = [(row.source, row.length) for row in rows]
    found = (1, 1)
    for length in range(1, (len(rows) - start) // 2 + 1):
        times = _count_times(keys[start:], length)
        if length * (times - 1) > found[0] * (found[1] - 1):
            found = (length, times)
    return found


def _count_times(keys: Sequence[object], length: int) -> int:
    times = 1
    while times < MOST_PLAYED and keys[times * length : (times + 1) * length] == keys[:length]:
        times += 1
    return times


def _between_signs(stretch: list[Row], times: int) -> list[Row]:
    stretch[0] = replace(stretch[0], bar=replace(stretch[0].bar, starts_repeat=True))
    stretch[-1] = replace(stretch[-1], bar=replace(stretch[-1].bar, repeat_times=times))
    return stretch


# --- the song written anew -----------------------------------------------------------


def write_rows(song: Song, rows: Sequence[Row]) -> Song:
    """The song with these bars. What is held over an end at which the music goes elsewhere stops there.

    What is held into a bar from one that does not come before it is struck at the bar's start.
    """
    onsets = list(accumulate((row.length for row in rows), initial=Quarters(0)))
    bars = (
        replace(row.bar, index=index, number=number, span=Span(onset, onset + row.length))
        for index, (row, number, onset) in enumerate(zip(rows, _number(rows), onsets, strict=False))
    )
    melody: list[MelodyNote] = []
    harmony: list[HarmonySpan] = []
    for run, onset in _runs(rows, onsets):
        if run[0].source is None:
            end = onset + sum(row.length for row in run)
            harmony.append(HarmonySpan(Span(onset, end), run[0].chord))
            continue
        window = Span(run[0].span.onset, run[-1].span.offset)
        shift = onset - window.onset
        melody += (_move_note(note, window, shift) for note in song.melody if note.span.overlaps(window))
        harmony += (
            replace(each, span=_move(each.span, window, shift))
            for each in song.harmony
            if each.span.overlaps(window)
        )
    return replace(song, bars=tuple(bars), melody=tuple(melody), harmony=tuple(harmony))


def _number(rows: Sequence[Row]) -> Iterator[str]:
    """Bars keep the song's numbers: bar 5 is 5.2 when it is written again; an introduction has i1, i2 …"""
    counts: dict[int | None, int] = {}
    for index, row in enumerate(rows, 1):
        if row.is_introduction:
            yield f"i{index}"
        else:
            counts[row.source] = counts.get(row.source, 0) + 1
            again = counts[row.source]
            yield f"{row.bar.number}.{again}" if again > 1 else row.bar.number


def _runs(rows: Sequence[Row], onsets: Sequence[Quarters]) -> Iterator[tuple[list[Row], Quarters]]:
    """Rows that follow each other as in the song, and when they begin in the piece."""
    run, start = [rows[0]], onsets[0]
    for (before, row), onset in zip(pairwise(rows), onsets[1:], strict=False):
        if not before.is_followed_by(row):
            yield run, start
            run, start = [], onset
        run.append(row)
    yield run, start


def _move(span: Span, window: Span, shift: Quarters) -> Span:
    return Span(max(span.onset, window.onset) + shift, min(span.offset, window.offset) + shift)


def _move_note(note: MelodyNote, window: Span, shift: Quarters) -> MelodyNote:
    """Words are sung where a note begins."""
    begins_here = note.onset >= window.onset
    return replace(note, span=_move(note.span, window, shift), lyrics=note.lyrics if begins_here else ())
