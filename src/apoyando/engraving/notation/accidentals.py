"""Which accidentals are printed.

An accidental holds for its line and octave to the end of the bar, in all voices; a note
tied over the barline keeps its own and says nothing about later ones (common practice;
Gould, Behind Bars, 2011, chapter 3, from memory). A reminder is printed where the eye
could err: the same line was altered in the bar before, or the same letter in another
octave of this bar.

Convention: alterations in semitones, sharp +1.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from operator import attrgetter

from apoyando.engraving.notation.score import NotatedBar, NotatedScore, Sounding
from apoyando.model.pitch import Key, Pitch, PitchName, Step
from apoyando.model.time import group_by_moment

MOST_SIGNS = 7
"""A key signature holds no more sharps or flats than there are letters."""

StaffPlace = tuple[Step, int]
"""Letter and octave."""


@dataclass(slots=True)
class _Bar:
    """What has been read in a bar: the last alteration on each line."""

    signature: Mapping[Step, int]
    read: dict[StaffPlace, int] = field(default_factory=dict[StaffPlace, int])

    def in_force(self, place: StaffPlace) -> int:
        return self.read.get(place, self.signature[place[0]])

    def is_altered_elsewhere(self, place: StaffPlace, alter: int) -> bool:
        step, octave = place
        return any(
            other_step is step and other_octave != octave and other != alter
            for (other_step, other_octave), other in self.read.items()
        )


def signature_of(key: Key) -> int:
    """Signs of the key signature as printed, sharps positive."""
    return max(-MOST_SIGNS, min(MOST_SIGNS, key.fifths))


def signature_alters(key: Key) -> dict[Step, int]:
    """What the key signature does to each letter."""
    signs = signature_of(key)
    sharp = {PitchName.from_fifths(fifths).step for fifths in range(-1, signs - 1)}
    flat = {PitchName.from_fifths(fifths).step for fifths in range(5, 5 + signs, -1)}
    return {step: (step in sharp) - (step in flat) for step in Step}


def choose_accidentals(score: NotatedScore) -> dict[str, int]:
    """The alteration to print, by note id, for the notes that get an accidental."""
    chosen: dict[str, int] = {}
    before: Mapping[StaffPlace, int] = {}
    for bar in score.bars:
        now = _Bar(signature_alters(bar.bar.key))
        chosen |= dict(_choose_in_bar(bar, now, before))
        before = now.read
    return chosen


def _choose_in_bar(bar: NotatedBar, now: _Bar, before: Mapping[StaffPlace, int]) -> Iterator[tuple[str, int]]:
    for note_id, pitch, is_tied_over in _heads(bar):
        place, alter = (pitch.name.step, pitch.octave), pitch.name.alter
        if is_tied_over:
            continue
        is_new = place not in now.read
        needs = now.in_force(place) != alter
        reminds = is_new and (before.get(place, alter) != alter or now.is_altered_elsewhere(place, alter))
        now.read[place] = alter
        if needs or reminds:
            yield note_id, alter


def _heads(bar: NotatedBar) -> list[tuple[str, Pitch, bool]]:
    """Note id, pitch, and whether a tie brings it over the barline; in order of time."""
    soundings = (
        event for _, events in sorted(bar.voices.items()) for event in events if isinstance(event, Sounding)
    )
    return [
        (note_id, note.pitch, event.is_tied_from_before)
        for _, struck in group_by_moment(soundings, attrgetter("onset"))
        for event in struck
        for note_id, note in zip(event.note_ids, event.notes, strict=True)
    ]
