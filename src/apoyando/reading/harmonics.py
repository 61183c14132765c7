"""Harmonics of a guitar score: which string is touched where, and what sounds.

Programs write them in two ways: at the pitch that sounds, or at the one that the string would give
if it were pressed where it is touched. The place that is written tells which.
"""

from collections.abc import Iterable
from dataclasses import replace

from apoyando.model.instrument import LAST_FRET, Place, Tuning
from apoyando.model.pitch import Interval
from apoyando.model.score import ScoreNote
from apoyando.model.song import Bar, ReadingRemark, bar_at

_OCTAVE = 12


def settle_harmonics(
    notes: Iterable[ScoreNote], tuning: Tuning, capo: int, bars: tuple[Bar, ...]
) -> tuple[tuple[ScoreNote, ...], tuple[ReadingRemark, ...]]:
    """The notes with harmonics at the pitch that sounds; one that no string has is an ordinary note, with a word."""
    settled: list[ScoreNote] = []
    remarks: list[ReadingRemark] = []
    for note in notes:
        found = _settle(note, tuning, LAST_FRET - capo) if note.is_harmonic else note
        settled.append(found)
        if not found.is_harmonic and note.is_harmonic:
            text = f"No string has the harmonic {note.pitch}: it is read as an ordinary note."
            remarks.append(ReadingRemark(bar_at(bars, note.onset).number, text))
        elif found.pitch != note.pitch:
            text = f"The harmonic {note.pitch} is read at the pitch that sounds, {found.pitch}."
            remarks.append(ReadingRemark(bar_at(bars, note.onset).number, text))
    return tuple(settled), tuple(remarks)


def _settle(note: ScoreNote, tuning: Tuning, highest_fret: int) -> ScoreNote:
    string, fret = note.given.string, note.given.fret
    if string is not None and fret is not None and fret <= highest_fret:
        place = Place(string, fret)
        sounding = tuning.harmonic_at(place)
        if sounding == note.pitch.midi:
            return note
        if sounding is not None and tuning.note_at(place) == note.pitch.midi:
            semitones = sounding - note.pitch.midi
            up = Interval(0 if semitones % _OCTAVE == 0 else 1, semitones)
            return replace(note, pitch=note.pitch.transposed(up))
    elif tuning.harmonic_places(note.pitch.midi, highest_fret):
        return note
    return replace(note, is_harmonic=False)
