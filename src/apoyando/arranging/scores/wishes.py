"""What is written of a note's left hand, as what the search may choose from.

What cannot be meant on this guitar (a string that has no such note, an open string with a
finger) is let go at once; the rest is kept.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace

from apoyando.fingering import Candidate, Touch
from apoyando.model.hand import Finger
from apoyando.model.instrument import LAST_FRET, STRINGS, StringNumber, Tuning
from apoyando.model.pitch import MidiNote
from apoyando.model.score import Given

Strings = tuple[StringNumber, ...]


@dataclass(frozen=True, slots=True)
class Wish:
    """Where a note may be taken: no strings if the guitar does not have it.

    ``as_written`` keeps to what is written, ``free`` does not, and is the same where nothing
    is.
    """

    as_written: Candidate
    free: Candidate
    strings: Strings
    frets: tuple[int, ...] = ()
    """Those that what is written leaves."""

    def is_pressed_at(self, fret: int, finger: Finger) -> bool:
        """Whether it is written for this finger at this fret and nothing else."""
        return self.frets == (fret,) and self.as_written.fingers == (int(finger),)

    @property
    def is_fingered(self) -> bool:
        """Whether what is written leaves no choice of the finger."""
        return bool(self.as_written.fingers) or not any(self.frets)

    @property
    def is_bound(self) -> bool:
        return self.as_written != self.free


def make_wish(midi: MidiNote, given: Given, tuning: Tuning, capo: int, *, is_harmonic: bool = False) -> Wish:
    """The wish for a note with what is written at it; frets are counted from the capo."""
    highest = LAST_FRET - capo
    if is_harmonic:
        return _wish_to_touch(midi, given, tuning, highest)
    frets = {
        string: midi - tuning.open_note(string)
        for string in STRINGS
        if 0 <= midi - tuning.open_note(string) <= highest
    }
    strings = _fitting_place(given, frets)
    strings, fingers = _fitting_finger(given.finger, strings, frets)
    bound = strings if strings != tuple(frets) else ()
    return Wish(
        as_written=Candidate(midi, highest_fret=highest, strings=bound, fingers=fingers),
        free=Candidate(midi, highest_fret=highest),
        strings=tuple(frets),
        frets=tuple(frets[string] for string in strings),
    )


def _wish_to_touch(midi: MidiNote, given: Given, tuning: Tuning, highest: int) -> Wish:
    """A harmonic at the place that is written, else at its surest. The hand lies there as if it pressed."""
    places = tuning.harmonic_places(midi, highest)
    written = [place for place in places if given.string in {None, place.string}]
    written = [place for place in written if given.fret in {None, place.fret}] or written
    place = next(iter(written or places), None)
    if place is None:
        return Wish(as_written=Candidate(midi), free=Candidate(midi), strings=())
    touched = Candidate(tuning.note_at(place), highest_fret=highest, strings=(place.string,))
    fingers = (int(given.finger),) if given.finger else ()
    return Wish(
        as_written=replace(touched, fingers=fingers),
        free=touched,
        strings=(place.string,),
        frets=(place.fret,),
    )


def pin_wish(wish: Wish, touch: Touch) -> Wish:
    """The wish for exactly this string and this finger."""
    place = Candidate(
        wish.free.note,
        highest_fret=wish.free.highest_fret,
        strings=(touch.place.string,),
        fingers=(int(touch.finger),),
    )
    return replace(wish, as_written=place)


def _fitting_place(given: Given, frets: Mapping[StringNumber, int]) -> Strings:
    """The strings that fit what is written; all where nothing does, or nothing is written."""
    if given.string is not None and given.string in frets:
        return (given.string,)
    return tuple(string for string, fret in frets.items() if fret == given.fret) or tuple(frets)


def _fitting_finger(
    finger: Finger | None, strings: Strings, frets: Mapping[StringNumber, int]
) -> tuple[Strings, tuple[int, ...]]:
    """The strings on which the finger fits, and the finger; no finger where it fits on none."""
    is_open = finger is Finger.OPEN
    fitting = tuple(string for string in strings if (frets[string] == 0) is is_open)
    return (strings, ()) if finger is None or not fitting else (fitting, (int(finger),))
