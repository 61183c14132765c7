"""Lines over a stretch of time: barre marks and hold lines, each a ``bracket`` of MusicXML 4.0.

A barre mark is a name and a dashed line that ends in a hook, unless the next one goes on from it. A hold line is solid, has no words, lies
at the height of its head by ``default-y``, and is closed by a stroke to both sides.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from apoyando.engraving.musicxml.placed import Placed, decimal, make_direction
from apoyando.engraving.musicxml.xmltree import element
from apoyando.engraving.notation.barre_marks import BarreMark, list_barre_marks
from apoyando.engraving.notation.score import NotatedScore, Sounding
from apoyando.model.arrangement import Note
from apoyando.model.pitch import Pitch
from apoyando.model.song import Bar
from apoyando.model.time import Quarters, Span, Spanned

TOP_LINE_STEPS = 31
"""The top line of the octave treble clef, F4 as it sounds, in steps above C0."""
TENTHS_PER_STEP = 5
"""A staff space is ten tenths (MusicXML 4.0, ``tenths``)."""
BELOW_A_LINE_TENTHS = Fraction(5, 2)
"""A line at the height of a line of the staff would not be seen."""


@dataclass(frozen=True, slots=True)
class Bracket(Spanned):
    """A barre mark or a hold line, with the lowest number that is free while it lasts.

    ``voice`` is that in which the note of a hold line is written.
    """

    span: Span
    number: int
    mark: BarreMark | Note
    voice: int | None = None


def list_brackets(score: NotatedScore) -> tuple[Bracket, ...]:
    """The brackets of the piece in order of time. What outlasts the piece ends with it."""
    end = score.bars[-1].bar.offset
    voices = _voices_of_notes(score)
    marks: list[BarreMark | Note] = [*list_barre_marks(score.arrangement), *score.held]
    brackets: list[Bracket] = []
    lasting: list[Bracket] = []
    for mark in sorted(marks, key=lambda mark: mark.span.onset):
        span = Span(mark.span.onset, min(mark.span.offset, end))
        voice = voices.get(mark) if isinstance(mark, Note) else None
        lasting = [bracket for bracket in lasting if bracket.offset > span.onset]
        lasting.append(Bracket(span, _free_number(lasting), mark, voice))
        brackets.append(lasting[-1])
    return tuple(brackets)


def _free_number(lasting: Iterable[Bracket]) -> int:
    busy = {bracket.number for bracket in lasting}
    return next(number for number in range(1, len(busy) + 2) if number not in busy)


def _voices_of_notes(score: NotatedScore) -> Mapping[Note, int]:
    """The voice in which each note that is held is struck."""
    held = frozenset(score.held)
    return {
        note: voice
        for notated in (score.bars if held else ())
        for voice, events in notated.voices.items()
        for event in events
        if isinstance(event, Sounding) and not event.is_tied_from_before
        for note in event.notes
        if note in held
    }


def bracket_stops(brackets: Sequence[Bracket], bar: Bar) -> Iterator[Placed]:
    """What ends at a barline belongs to the bar that it closes."""
    for bracket in brackets:
        if bar.onset < bracket.offset <= bar.offset:
            yield _end(bracket, "stop", bracket.offset)


def bracket_starts(brackets: Sequence[Bracket], bar: Bar) -> Iterator[Placed]:
    for bracket in brackets:
        if bar.span.contains(bracket.onset):
            yield _end(bracket, "start", bracket.onset)


def _end(bracket: Bracket, kind: str, onset: Quarters) -> Placed:
    is_stop, mark, number = kind == "stop", bracket.mark, bracket.number
    if isinstance(mark, BarreMark):
        line_end = "down" if is_stop and not mark.goes_on else "none"
        words = [] if is_stop else [element("words", mark.name)]
        line = element("bracket", type=kind, number=number, line_end=line_end, line_type="dashed")
        return make_direction(onset, *words, line)
    line_end = "both" if is_stop else "none"
    y = decimal(_height_tenths(mark.pitch))
    line = element("bracket", type=kind, number=number, line_end=line_end, line_type="solid", default_y=y)
    return make_direction(onset, line, placement="below", voice=bracket.voice)


def _height_tenths(pitch: Pitch) -> Fraction:
    """Of a hold line over the top line of the staff: in the space of its head, or in the one below."""
    steps = pitch.staff_height - TOP_LINE_STEPS
    is_on_line = steps % 2 == 0
    return steps * TENTHS_PER_STEP - (BELOW_A_LINE_TENTHS if is_on_line else Fraction(0))
