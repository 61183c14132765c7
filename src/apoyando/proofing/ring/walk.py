"""How long a note rings: on from its written end until something does not go with it.

A note that rings keeps its string, and its finger if it is stopped, while the rest of the hand does what is
written. A barre is kept as it lay.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from apoyando.model.arrangement import Barre, Note
from apoyando.model.ring import Ending
from apoyando.model.time import Quarters, Span
from apoyando.proofing.ring.obstacles import Obstacle, find_obstacles
from apoyando.proofing.ring.scene import HAND_ORDER, Limit, Scene, Stretch, covers


@dataclass(frozen=True, slots=True)
class Change:
    """One note played otherwise (or left out), and the barres that are not needed then."""

    note: Note
    instead: Note | None
    idle: tuple[Barre, ...] = ()

    def apply(self, stretch: Stretch) -> Stretch:
        others = tuple(note for note in stretch.notes if note is not self.note)
        added = (self.instead,) if self.instead and len(others) < len(stretch.notes) else ()
        barres = tuple(barre for barre in stretch.barres if barre not in self.idle)
        return Stretch(stretch.span, (*others, *added), barres)


@dataclass(frozen=True, slots=True)
class End:
    """Where a ring ends, and with what barres it was kept."""

    until: Quarters
    obstacle: Obstacle
    carriers: tuple[Barre, ...]


def limit_of(scene: Scene, note: Note) -> Limit:
    return next(limit for limit in scene.limits if limit[0] >= note.offset)


def let_ring(scene: Scene, note: Note, limit: Limit, change: Change | None = None) -> End:
    """Walk on from the written end until something does not go with the note."""
    carriers = _carriers_at_end(scene, note)
    for written in scene.during(note.offset, limit[0]):
        stretch = change.apply(written) if change else written
        lying = [barre for barre in stretch.barres if barre.finger is note.finger]
        kept = carriers[-1] if carriers and not lying else None
        obstacles = list(find_obstacles(scene, note, stretch, kept))
        if obstacles:
            return _end_ring(stretch.span.onset, _first_told(obstacles), carriers)
        if kept and _tires_at(scene, kept) < min(stretch.span.offset, limit[0]):
            until = max(_tires_at(scene, kept), stretch.span.onset)
            return _end_ring(until, Obstacle(Ending.BARRE_TIRES, barre=kept), carriers)
        carriers += [barre for barre in lying if barre not in carriers]
    return _end_ring(limit[0], Obstacle(limit[1]), carriers)


def _carriers_at_end(scene: Scene, note: Note) -> list[Barre]:
    """The barre in which a note lies at the end of its written length, if it does."""
    last = scene.stretches[scene.index_at[note.offset] - 1]
    return [barre for barre in last.barres if covers(barre, note)]


def _end_ring(until: Quarters, obstacle: Obstacle, carriers: Sequence[Barre]) -> End:
    """Each barre is kept until the next begins, the last until the ring ends."""
    ends = [*(barre.span.onset for barre in carriers[1:]), until]
    kept = (
        replace(barre, span=Span(barre.span.onset, max(barre.span.offset, end)))
        for barre, end in zip(carriers, ends, strict=False)
    )
    return End(until, obstacle, tuple(kept))


def _tires_at(scene: Scene, carrier: Barre) -> Quarters:
    """When a barre has lain for as long as the level allows, with what it follows at its fret."""
    onset = carrier.span.onset
    for barre in sorted(scene.arrangement.barres, key=lambda barre: -barre.span.onset):
        if (barre.finger, barre.fret, barre.span.offset) == (carrier.finger, carrier.fret, onset):
            onset = barre.span.onset
    return max(onset + scene.level.barre_quarters, carrier.span.offset)


def _first_told(obstacles: Iterable[Obstacle]) -> Obstacle:
    return min(obstacles, key=lambda obstacle: HAND_ORDER.index(obstacle.ending))
