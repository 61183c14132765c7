"""Which chord shapes a page shows as diagrams.

**A chord has a diagram** if, while it lasts, the hand presses three strings or more at once, or
lays finger 1 flat; where no chord is named there is none. The shape is the fullest that the hand
comes to in that time, the first of equals, and stands where the chord comes. A shape whose
accompaniment is held as it was in a diagram before has none again, whatever the tune does above it.
In a score that has diagrams they stand where it has them, each with the shape that the hand takes.

Source: song books print the shapes once, where they come first (common practice, no source).
"""

from dataclasses import dataclass

from apoyando.model.arrangement import Arrangement, Note
from apoyando.model.hand import Finger
from apoyando.model.hand_shape import HandShape, hand_shape_at
from apoyando.model.harmony import HarmonySpan
from apoyando.model.instrument import Place
from apoyando.model.time import Quarters

FEWEST_PRESSED = 3


@dataclass(frozen=True, slots=True)
class Diagram:
    """A shape and where it stands."""

    onset: Quarters
    shape: HandShape


def list_diagrams(arrangement: Arrangement, *, are_wanted: bool) -> tuple[Diagram, ...]:
    """The diagrams that a page shows, in order of time: where the source has them, or those that are wanted."""
    if not arrangement.diagrams:
        return choose_diagrams(arrangement) if are_wanted else ()
    return tuple(
        Diagram(span.onset, hand_shape_at(arrangement, _fullest_moment(span, arrangement)))
        for span in arrangement.harmony
        if span.chord and span.onset in arrangement.diagrams
    )


def choose_diagrams(arrangement: Arrangement) -> tuple[Diagram, ...]:
    """The diagrams of a piece by the rule above, in order of time."""
    shown: set[frozenset[tuple[Place, Finger]]] = set()
    diagrams: list[Diagram] = []
    for span in arrangement.harmony:
        moment = _fullest_moment(span, arrangement)
        shape = hand_shape_at(arrangement, moment)
        held = _held_by_accompaniment(arrangement, moment)
        if span.chord and _matters(shape) and held not in shown:
            shown.add(held)
            diagrams.append(Diagram(span.onset, shape))
    return tuple(diagrams)


def _fullest_moment(span: HarmonySpan, arrangement: Arrangement) -> Quarters:
    moments = sorted({span.onset, *(n.onset for n in arrangement.notes if span.span.contains(n.onset))})
    return max(moments, key=lambda moment: (_pressed(hand_shape_at(arrangement, moment)), -moment))


def _pressed(shape: HandShape) -> int:
    return sum(stop.finger is not Finger.OPEN for stop in shape.stops)


def _matters(shape: HandShape) -> bool:
    return _pressed(shape) >= FEWEST_PRESSED or any(
        barre.finger is Finger.INDEX for barre in shape.barres if _pressed(shape)
    )


def _held_by_accompaniment(arrangement: Arrangement, moment: Quarters) -> frozenset[tuple[Place, Finger]]:
    def is_held(note: Note) -> bool:
        return note.role.is_accompaniment and note.span.contains(moment)

    return frozenset((note.place, note.finger) for note in arrangement.notes if is_held(note))
