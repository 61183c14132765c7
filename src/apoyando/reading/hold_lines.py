"""Which notes of a score have a hold line.

A line belongs to the note that begins and ends with it and has its head there on the staff: the line
lies in the space of the head, or just below a head on a line. Where a score has such lines at all, a
note without one has none.

Source: W3C MusicXML 4.0, ``bracket`` with ``default-y``; ten tenths are a space of the staff.
"""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import replace
from fractions import Fraction

from apoyando.model.score import ScoreNote
from apoyando.model.song import Bar, ReadingRemark, bar_at
from apoyando.model.time import Span
from apoyando.reading.draft import WrittenHold

_TOP_LINE_STEPS = 31
"""The top line of the octave treble clef, F4 as it sounds, in steps above C0."""
_TENTHS_PER_STEP = 5


def settle_hold_lines(
    notes: tuple[ScoreNote, ...], holds: Iterable[WrittenHold], bars: tuple[Bar, ...]
) -> tuple[tuple[ScoreNote, ...], tuple[ReadingRemark, ...]]:
    """The notes, each told whether it has a line if any has, and a word on lines that are for none.

    Each note has one line; of a unison the lower voice has it first.
    """
    free: defaultdict[Span, list[int]] = defaultdict(list)
    for index in sorted(range(len(notes)), key=lambda index: -notes[index].voice):
        free[notes[index].span].append(index)
    held: set[int] = set()
    remarks: list[ReadingRemark] = []
    for hold in holds:
        there = free.get(hold.span, [])
        found = next((index for index in there if _is_at(notes[index], hold.y_tenths)), None)
        if found is None:
            remarks.append(ReadingRemark(bar_at(bars, hold.onset).number, "A bracket is not carried over."))
        else:
            there.remove(found)
            held.add(found)
    if held:
        notes = tuple(replace(note, has_hold_line=index in held) for index, note in enumerate(notes))
    return notes, tuple(remarks)


def _is_at(note: ScoreNote, y_tenths: Fraction | None) -> bool:
    """Less than a step away."""
    head = (note.pitch.staff_height - _TOP_LINE_STEPS) * _TENTHS_PER_STEP
    return y_tenths is not None and abs(head - y_tenths) < _TENTHS_PER_STEP
