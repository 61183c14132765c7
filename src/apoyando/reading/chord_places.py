"""Where a chord symbol stands in time.

Programs put a symbol where it looks well, or miss a beat by a division that they round. The
accompaniment changes with the chord, and can be read only where something is struck or could be.
"""

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from itertools import chain, count, takewhile

from apoyando.model.beat import count_beat, name_count
from apoyando.model.chord_text import write_chord_symbol
from apoyando.model.song import Bar, ReadingRemark, bar_at
from apoyando.model.time import Quarters, Spanned
from apoyando.reading.draft import DraftChord

_KEPT_PARTS = (3, 4)
"""Into so many parts a quarter may be divided by a chord without a note."""
_EIGHTH = Fraction(1, 2)
_ROUNDING = Fraction(1, 16)
"""Moved by less than a 64th, a chord stands where it was meant to, and nothing need be said."""


def place_chords(
    chords: Sequence[DraftChord], melody: Sequence[Spanned], bars: tuple[Bar, ...]
) -> tuple[tuple[DraftChord, ...], tuple[ReadingRemark, ...]]:
    """The chords at moments that can be played, and remarks on those that were moved by more than rounding.

    A chord on a note, or on a sixteenth or a third of a quarter, stays. Any other goes to the
    nearest note of its bar, eighth or barline, of two as near to the earlier.
    """
    struck = frozenset(note.onset for note in melody)
    placed: list[DraftChord] = []
    remarks: list[ReadingRemark] = []
    for chord in chords:
        onset = _find_place(chord.onset, struck, bars)
        placed.append(replace(chord, onset=onset))
        if abs(onset - chord.onset) >= _ROUNDING:
            remarks.append(_tell_move(placed[-1], bar_at(bars, onset)))
    return tuple(placed), tuple(remarks)


def _find_place(moment: Quarters, struck: frozenset[Quarters], bars: tuple[Bar, ...]) -> Quarters:
    bar = bar_at(bars, moment)
    within = moment - bar.onset + bar.meter_phase
    is_countable = any((within * parts).denominator == 1 for parts in _KEPT_PARTS)
    if moment in struck or is_countable or not bar.onset <= moment < bar.offset:
        return moment
    eighths = takewhile(lambda step: step < bar.offset, (bar.onset + each * _EIGHTH for each in count()))
    after = () if bar is bars[-1] else (bar.offset,)
    notes = (onset for onset in struck if bar.onset <= onset < bar.offset)
    return min(chain(eighths, notes, after), key=lambda place: (abs(place - moment), place))


def _tell_move(chord: DraftChord, bar: Bar) -> ReadingRemark:
    name = write_chord_symbol(chord.chord) if chord.chord else "N.C."
    beat = name_count(count_beat(bar, chord.onset))
    return ReadingRemark(bar.number, f"The chord {name} stands where nothing is struck: read at beat {beat}.")
