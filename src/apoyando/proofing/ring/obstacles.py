"""What a stretch holds against a note that rings on."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from apoyando.model.arrangement import Barre, Note
from apoyando.model.hand import Finger
from apoyando.model.instrument import distance_mm
from apoyando.model.ring import Ending
from apoyando.proofing.barres import hinders
from apoyando.proofing.holds import takes_string
from apoyando.proofing.reach import ROUNDING_MM, crosses, distance_from_barre_mm, outermost_mm
from apoyando.proofing.ring.scene import Scene, Stretch, covers


@dataclass(frozen=True, slots=True)
class Obstacle:
    """What does not go with a longer ring. ``taker`` or ``barre`` is its witness."""

    ending: Ending
    taker: Note | None = None
    barre: Barre | None = None


def find_obstacles(scene: Scene, note: Note, stretch: Stretch, kept: Barre | None) -> Iterator[Obstacle]:
    """All that a stretch holds against a note that rings on. ``kept`` is a barre kept down for it."""
    for other in stretch.notes:
        ending = _clash(scene, note, other, stretch, kept)
        if ending:
            yield Obstacle(ending, taker=other)
    for barre in stretch.barres:
        ending = _barre_clash(scene, note, barre)
        if ending or (kept and _are_crossed(kept, barre)):
            yield Obstacle(ending or Ending.BARRE_LIFTED, _first_in(barre, stretch), barre)


def _clash(scene: Scene, note: Note, other: Note, stretch: Stretch, kept: Barre | None) -> Ending | None:
    """Why the hand cannot keep one note and sound the other, None if it can."""
    if takes_string(note, other):
        return Ending.STRUCK_AGAIN if note.place == other.place else Ending.STRING_STRUCK
    if kept and hinders(kept, other):
        return Ending.FINGER_MOVES if other.finger is note.finger else Ending.BARRE_LIFTED
    if Finger.OPEN in {note.finger, other.finger}:
        return None
    if note.finger is other.finger:
        return None if _share_barre(note, other, stretch, kept) else Ending.FINGER_MOVES
    return _spread_clash(scene, note, other, _lying(stretch, kept))


def _spread_clash(scene: Scene, note: Note, other: Note, lying: Sequence[Barre]) -> Ending | None:
    """Of two fingers: whether they cross, or lie too far apart."""
    if crosses(note, other):
        return Ending.FINGERS_CROSS
    if _apart_mm(note, other, lying) <= _most_mm(scene, note, other.finger):
        return None
    return Ending.HAND_SHIFTS if position_of(note) != position_of(other) else Ending.OUT_OF_REACH


def _apart_mm(note: Note, other: Note, lying: Sequence[Barre]) -> float:
    """Between two fingers; where one lies flat, from its barre."""
    for one, against in ((note, other), (other, note)):
        for barre in lying:
            if covers(barre, one):
                return distance_from_barre_mm(barre, against.place)
    return distance_mm(note.place, other.place)


def _lying(stretch: Stretch, kept: Barre | None) -> list[Barre]:
    return [*stretch.barres, *([kept] if kept else [])]


def _share_barre(note: Note, other: Note, stretch: Stretch, kept: Barre | None) -> bool:
    return any(covers(barre, note) and covers(barre, other) for barre in _lying(stretch, kept))


def _most_mm(scene: Scene, note: Note, finger: Finger) -> float:
    return outermost_mm(scene.level, note.finger, finger, scene.hand_size) + ROUNDING_MM


def position_of(note: Note) -> int:
    return max(1, note.place.fret - note.finger + 1)


def _barre_clash(scene: Scene, note: Note, barre: Barre) -> Ending | None:
    """A finger tip that rings may be laid flat where it stands."""
    if covers(barre, note):
        return None
    if hinders(barre, note):
        return Ending.FINGER_MOVES if barre.finger is note.finger else Ending.BARRE_LAID
    if note.finger is Finger.OPEN:
        return None
    is_near = distance_from_barre_mm(barre, note.place) <= _most_mm(scene, note, barre.finger)
    return None if is_near else Ending.OUT_OF_REACH


def _are_crossed(kept: Barre, barre: Barre) -> bool:
    """Two barres at once: of different fingers, the lower number below, or beside on lower strings."""
    if kept.finger is barre.finger:
        return False
    low, high = sorted((kept, barre), key=lambda each: each.finger)
    if low.fret == high.fret:
        return low.highest_string <= high.lowest_string
    return low.fret > high.fret


def _first_in(barre: Barre, stretch: Stretch) -> Note | None:
    """The note for which a barre lies, the latest struck."""
    lying = [note for note in stretch.notes if note.in_barre and covers(barre, note)]
    return max(lying, key=lambda note: note.onset, default=None)
