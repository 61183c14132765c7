"""The single change with which a note would ring longest."""

from collections.abc import Iterable, Iterator
from dataclasses import replace

from apoyando.model.arrangement import Barre, Note, Role
from apoyando.model.hand import FINGERS, Finger
from apoyando.model.instrument import LAST_FRET, Place
from apoyando.model.ring import Remedy
from apoyando.model.time import Quarters
from apoyando.proofing.ring.obstacles import find_obstacles
from apoyando.proofing.ring.scene import Limit, Scene, covers
from apoyando.proofing.ring.walk import Change, End, let_ring
from apoyando.proofing.ring.words import say_remedy


def find_remedy(scene: Scene, note: Note, end: End, limit: Limit) -> Remedy | None:
    taker = end.obstacle.taker
    best = _best_of(scene, note, _hand_changes(scene, note, taker), end.until, limit)
    if best is None and taker and taker.role is Role.INNER:
        best = _best_of(scene, note, (Change(taker, None),), end.until, limit)
    return best


def _best_of(
    scene: Scene, note: Note, changes: Iterable[Change], longer_than: Quarters, limit: Limit
) -> Remedy | None:
    """The change with which the note rings longest; the first that lets it ring all the time ends the search."""
    best: tuple[Quarters, Change] | None = None
    for change in changes:
        until = _rings_until(scene, note, change, limit)
        if until is not None and until > (best[0] if best else longer_than):
            best = (until, change)
        if until == limit[0]:
            break
    return _remedy(scene, note, best[1], best[0]) if best else None


def _remedy(scene: Scene, note: Note, change: Change, until: Quarters) -> Remedy:
    sentence = say_remedy(scene, note, change, until)
    return Remedy(note=change.note, instead=change.instead, rings_until=until, sentence=sentence)


def _hand_changes(scene: Scene, note: Note, taker: Note | None) -> Iterator[Change]:
    for each in (taker, note):
        if each:
            idle = tuple(barre for barre in scene.arrangement.barres if _is_idle_without(each, barre, scene))
            for other in _played_otherwise(scene, each):
                yield Change(each, other, idle)


def _is_idle_without(note: Note, barre: Barre, scene: Scene) -> bool:
    """Whether a barre of a note has at most one other note: a finger tip does for that."""
    if not (note.in_barre and covers(barre, note) and note.span.overlaps(barre.span)):
        return False
    lying = [
        other
        for other in scene.arrangement.notes
        if other.in_barre and covers(barre, other) and other.span.overlaps(barre.span)
    ]
    return len(lying) <= 2  # noqa: PLR2004 - the note itself and one more


def _played_otherwise(scene: Scene, note: Note) -> Iterator[Note]:
    """The same place by other fingers, then other places, the nearest frets first."""
    fingers = () if note.place.is_open else FINGERS
    for finger in fingers:
        if finger is not note.finger:
            yield replace(note, finger=finger, in_barre=False)
    for place in _other_places(scene, note):
        for finger in (Finger.OPEN,) if place.is_open else FINGERS:
            yield replace(note, place=place, finger=finger, in_barre=False)


def _other_places(scene: Scene, note: Note) -> list[Place]:
    level, arrangement = scene.level, scene.arrangement
    highest = level.accompaniment_highest_fret if note.role.is_accompaniment else level.melody_highest_fret
    places = arrangement.tuning.places(note.pitch.midi, min(highest, LAST_FRET - arrangement.capo))
    others = [place for place in places if place != note.place]
    return sorted(others, key=lambda place: abs(place.fret - note.place.fret))


def _rings_until(scene: Scene, note: Note, change: Change, limit: Limit) -> Quarters | None:
    """How long the note rings after a change, None where the hand cannot do what is changed."""
    if change.instead and not _fits(scene, change.instead, change):
        return None
    ringing = change.instead if change.note is note and change.instead else note
    return let_ring(scene, ringing, limit, change).until


def _fits(scene: Scene, note: Note, change: Change) -> bool:
    """Whether a note can be sounded for its written length among all else."""
    for written in scene.during(note.onset, note.offset):
        stretch = change.apply(written)
        others = replace(stretch, notes=tuple(other for other in stretch.notes if other is not note))
        if any(find_obstacles(scene, note, others, None)):
            return False
    return True
