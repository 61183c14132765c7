"""Tablature without notation: laid out by the layout program, drawn by us.

The layout program spaces a score whose heads lie where their strings are, a third apart,
without key and accidentals; only the places along its lines are used. Besides what
``tablature`` and ``tablature_stems`` say:

* a note that is tied on is written again in brackets, with a stem for its length, and has
  no tie;
* rests stand in the row of the melody's stems, where the notation shows them;
* there is no key signature, for there are no accidentals; the time signature stands in the
  middle of the strings;
* fermatas stand above the stems.

Source: common practice, from memory.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace

from apoyando.engraving.drawing.boxes import Box
from apoyando.engraving.drawing.shapes import Dot, Glyph, Shape, Stroke
from apoyando.engraving.notation.score import Event, NotatedBar, NotatedScore, Silence
from apoyando.engraving.staff.columns import WrittenHead, find_columns
from apoyando.engraving.staff.layout import SPACE, System
from apoyando.engraving.tablature.stems import STEM, STEM_GAP, draw_stems
from apoyando.engraving.tablature.strings import HEIGHT, choose_numbers, draw_frame, draw_numbers
from apoyando.model.arrangement import Note
from apoyando.model.instrument import STRINGS, StringNumber
from apoyando.model.pitch import Key, Pitch
from apoyando.model.time import Quarters

STRING_PITCHES: Mapping[StringNumber, Pitch] = {
    string: Pitch.of(name[0], 0, int(name[1]))
    for string, name in zip(STRINGS, ("F4", "D4", "B3", "G3", "E3", "C3"), strict=True)
}
"""A third apart, so that no two heads of one column stand aside of each other."""
SIGN_GAP = 0.45 * SPACE
FERMATA = "E4C0"
GLYPH_SIZE = 4 * SPACE
RESTS_AT_A_LINE = frozenset({"E4E3", "E4E4"})
"""Outside a staff a whole or a half rest brings the line it hangs from or lies on."""
REST_LINE = 0.1 * SPACE
REST_LINE_PAST = 0.35 * SPACE


def spell_on_strings(score: NotatedScore) -> NotatedScore:
    """The score to be laid out: every head on its string, no accidentals, no key. Ids are kept."""
    respelled: dict[Note, Note] = {}

    def respell(note: Note) -> Note:
        return respelled.setdefault(note, replace(note, pitch=STRING_PITCHES[note.place.string]))

    def change(event: Event) -> Event:
        return event if isinstance(event, Silence) else replace(event, notes=tuple(map(respell, event.notes)))

    bars = (
        replace(
            notated,
            bar=replace(notated.bar, key=Key(0)),
            voices={voice: tuple(map(change, events)) for voice, events in notated.voices.items()},
        )
        for notated in score.bars
    )
    return replace(score, bars=tuple(bars))


def make_tablature(system: System, heads: Sequence[WrittenHead], bars: Iterable[NotatedBar]) -> System:
    """A system of tablature with stems, from one that was laid out for ``spell_on_strings``.

    The line of string 1 has the height 0; in place of a head there is the box of its number.
    """
    columns = find_columns(heads, system.heads)
    numbers = choose_numbers(heads, columns, with_tied=True)
    shapes = (
        *draw_frame(system, 0),
        *_signatures(system),
        *draw_numbers(numbers, 0),
        *_rests(system),
        *draw_stems((bar for bar in bars if bar.bar.index in system.bars), columns),
    )
    boxes = {number.note_id: number.box(0) for number in numbers}
    return replace(system, shapes=(*shapes, *_fermatas(heads, columns, shapes)), heads=boxes)


def _signatures(system: System) -> Iterator[Shape]:
    """Time signatures, in the middle of the strings."""
    for shape in system.shapes:
        if shape.kind == "meterSig" and isinstance(shape.drawing, Glyph):
            yield replace(shape, drawing=replace(shape.drawing, y=shape.drawing.y + HEIGHT / 2 - 2 * SPACE))


def _rests(system: System) -> Iterator[Shape]:
    """The rests that were laid out, and their dots, each kind at one height."""
    middle = -STEM_GAP - STEM / 2
    for shape in system.shapes:
        if shape.kind in {"rest", "mRest"} and isinstance(shape.drawing, Glyph):
            ink = replace(shape.drawing, y=0).boxes()[0]
            y = min(middle - ink.middle[1], -STEM_GAP - ink.bottom)
            rest = replace(shape, drawing=replace(shape.drawing, y=y))
            yield rest
            if shape.drawing.code in RESTS_AT_A_LINE:
                yield _rest_line(rest, ink, y)
        elif isinstance(shape.drawing, Dot) and shape.owner and shape.owner not in system.heads:
            yield replace(shape, drawing=replace(shape.drawing, y=middle - SPACE / 2))


def _rest_line(rest: Shape, ink: Box, y: float) -> Shape:
    points = ((ink.left - REST_LINE_PAST, y), (ink.right + REST_LINE_PAST, y))
    return Shape("ledgerLines", rest.owner, Stroke(points, REST_LINE))


def _fermatas(
    heads: Iterable[WrittenHead], columns: Mapping[Quarters, float], below: Sequence[Shape]
) -> Iterator[Shape]:
    boxes = [box for shape in below for box in shape.boxes()]
    sign = Glyph(FERMATA, 0, 0, GLYPH_SIZE)
    ink = sign.boxes()[0]
    for onset in sorted({h.event.onset for h in heads if h.note.has_fermata and not h.event.is_tied_to_next}):
        x = columns[onset] - ink.middle[0]
        near = (box.top for box in boxes if box.left < x + ink.right and x + ink.left < box.right)
        y = min(-STEM_GAP, *near) - SIGN_GAP - ink.bottom
        yield Shape("fermata", "", replace(sign, x=x, y=y))
