"""All rings of an arrangement, with what ends each and what would free it."""

from apoyando.model.arrangement import Arrangement, Note
from apoyando.model.level import Level
from apoyando.model.ring import Ring
from apoyando.proofing.ring.remedies import find_remedy
from apoyando.proofing.ring.scene import Scene, lay_scene
from apoyando.proofing.ring.walk import let_ring, limit_of
from apoyando.proofing.ring.words import say_ending


def find_rings(arrangement: Arrangement, level: Level, hand_size: float = 1.0) -> tuple[Ring, ...]:
    """For each note of bass and inner voice how long it can ring, in order of time.

    Where the hand ends a ring before the harmony changes, single changes are tried one by
    one: the note that is in the way by another finger, at another place; the ringing note by
    another finger, at another place. The one that lets it ring longest is the remedy, the
    first of them where several do. Where none helps, an inner note in the way is left out.
    """
    scene = lay_scene(arrangement, level, hand_size)
    notes = [note for note in arrangement.notes if note.role.is_accompaniment]
    return tuple(_find_ring(scene, note) for note in sorted(notes, key=lambda note: note.onset))


def _find_ring(scene: Scene, note: Note) -> Ring:
    limit = limit_of(scene, note)
    end = let_ring(scene, note, limit)
    return Ring(
        note=note,
        until=end.until,
        wanted_until=limit[0],
        ending=end.obstacle.ending,
        sentence=say_ending(scene, note, end),
        taker=end.obstacle.taker,
        barre=end.obstacle.barre,
        carriers=end.carriers,
        remedy=find_remedy(scene, note, end, limit) if end.obstacle.ending.is_loss else None,
    )
