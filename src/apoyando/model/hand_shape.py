"""The shape in which the left hand stands at one moment of a piece.

Conventions: frets as on the page, counted from the capo. A string is in the shape while a
note on it lasts as written; where a unison was struck twice on one string it is there once.
"""

from dataclasses import dataclass

from apoyando.model.arrangement import Arrangement, Barre
from apoyando.model.hand import Finger
from apoyando.model.instrument import Place
from apoyando.model.time import Quarters


@dataclass(frozen=True, slots=True)
class Stop:
    """One sounding string: where, and with which finger."""

    place: Place
    finger: Finger


@dataclass(frozen=True, slots=True)
class HandShape:
    """``stops`` has each sounding string once, string 1 first; strings not in it do not sound.

    ``barres`` are those that lie at the moment, whether or not all their strings sound.
    """

    stops: tuple[Stop, ...]
    barres: tuple[Barre, ...] = ()

    @property
    def fingers(self) -> frozenset[Finger]:
        """The fingers that press."""
        return frozenset(stop.finger for stop in self.stops) - {Finger.OPEN}


def hand_shape_at(arrangement: Arrangement, moment: Quarters) -> HandShape:
    """What sounds at a moment and the barres that lie; no stops in a rest.

    While a harmonic sounds there is no shape either: its string is not stopped where it was touched.
    """
    sounding = sorted(
        (note for note in arrangement.notes if note.span.contains(moment)), key=lambda note: note.onset
    )
    if any(note.is_harmonic for note in sounding):
        return HandShape(())
    last_on = {note.place.string: Stop(note.place, note.finger) for note in sounding}
    stops = tuple(last_on[string] for string in sorted(last_on))
    return HandShape(stops, tuple(barre for barre in arrangement.barres if barre.span.contains(moment)))
