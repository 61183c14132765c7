"""How long each note of the accompaniment can ring, what ends it, and what would free it.

Conventions: a stretch is the time between two neighbouring edges of notes and barres; all
through it the hand does one thing. A note that rings keeps its string, and its finger if it
is stopped, while the rest of the hand does what is written. A barre is kept as it lay.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import pairwise
from typing import Protocol, TypeVar

from apoyando.model.arrangement import Arrangement, Barre, Note, Role
from apoyando.model.form import play_order
from apoyando.model.hand import FINGERS, Finger, roman
from apoyando.model.harmony import Chord, HarmonySpan
from apoyando.model.instrument import LAST_FRET, Place, distance_mm
from apoyando.model.level import Level
from apoyando.model.ring import Ending, Remedy, Ring
from apoyando.model.song import Bar
from apoyando.model.time import Quarters, Span
from apoyando.proofing.barres import hinders
from apoyando.proofing.holds import takes_string
from apoyando.proofing.reach import ROUNDING_MM, crosses, distance_from_barre_mm, outermost_mm
from apoyando.proofing.wording import name_barre, name_moment, name_note

Limit = tuple[Quarters, Ending]
"""Where no ring goes on, whatever the hand can do."""

_HAND_ORDER = tuple(Ending)


@dataclass(frozen=True, slots=True)
class _Obstacle:
    """What does not go with a longer ring. ``taker`` or ``barre`` is its witness."""

    ending: Ending
    taker: Note | None = None
    barre: Barre | None = None


@dataclass(frozen=True, slots=True)
class _Stretch:
    span: Span
    notes: tuple[Note, ...]
    barres: tuple[Barre, ...]


@dataclass(frozen=True, slots=True)
class _Scene:
    """An arrangement cut into stretches up to its end. ``index_at`` finds the one that begins at an edge."""

    arrangement: Arrangement
    level: Level
    hand_size: float
    stretches: tuple[_Stretch, ...]
    index_at: Mapping[Quarters, int]
    limits: tuple[Limit, ...]

    def during(self, onset: Quarters, offset: Quarters) -> Iterator[_Stretch]:
        """The stretches from an edge on that begin before ``offset``."""
        for index in range(self.index_at[onset], len(self.stretches)):
            if self.stretches[index].span.onset >= offset:
                return
            yield self.stretches[index]


@dataclass(frozen=True, slots=True)
class _Change:
    """One note played otherwise (or left out), and the barres that are not needed then."""

    note: Note
    instead: Note | None
    idle: tuple[Barre, ...] = ()

    def apply(self, stretch: _Stretch) -> _Stretch:
        others = tuple(note for note in stretch.notes if note is not self.note)
        added = (self.instead,) if self.instead and len(others) < len(stretch.notes) else ()
        barres = tuple(barre for barre in stretch.barres if barre not in self.idle)
        return _Stretch(stretch.span, (*others, *added), barres)


@dataclass(frozen=True, slots=True)
class _End:
    """Where a ring ends, and with what barres it was kept."""

    until: Quarters
    obstacle: _Obstacle
    carriers: tuple[Barre, ...]


def find_rings(arrangement: Arrangement, level: Level, hand_size: float = 1.0) -> tuple[Ring, ...]:
    """For each note of bass and inner voice how long it can ring, in order of time.

    Where the hand ends a ring before the harmony changes, single changes are tried one by
    one: the note that is in the way by another finger, at another place; the ringing note by
    another finger, at another place. The one that lets it ring longest is the remedy, the
    first of them where several do. Where none helps, an inner note in the way is left out.
    """
    scene = _lay_scene(arrangement, level, hand_size)
    notes = [note for note in arrangement.notes if note.role.is_accompaniment]
    return tuple(_find_ring(scene, note) for note in sorted(notes, key=lambda note: note.onset))


# The scene.


class _HasSpan(Protocol):
    @property
    def span(self) -> Span: ...


_Item = TypeVar("_Item", bound=_HasSpan)


def _lay_scene(arrangement: Arrangement, level: Level, hand_size: float) -> _Scene:
    limits = _find_limits(arrangement)
    spans = [*(note.span for note in arrangement.notes), *(barre.span for barre in arrangement.barres)]
    edges = sorted({limits[-1][0], *(edge for span in spans for edge in (span.onset, span.offset))})
    index_at = {edge: index for index, edge in enumerate(edges)}
    rows = zip(
        pairwise(edges),
        _spread(arrangement.notes, index_at),
        _spread(arrangement.barres, index_at),
        strict=True,
    )
    stretches = tuple(_Stretch(Span(*ends), tuple(notes), tuple(barres)) for ends, notes, barres in rows)
    return _Scene(arrangement, level, hand_size, stretches, index_at, limits)


def _spread(items: Iterable[_Item], index_at: Mapping[Quarters, int]) -> list[list[_Item]]:
    """For each stretch the items that last all through it."""
    rows: list[list[_Item]] = [[] for _ in range(len(index_at) - 1)]
    for item in items:
        for index in range(index_at[item.span.onset], index_at[item.span.offset]):
            rows[index].append(item)
    return rows


def _find_limits(arrangement: Arrangement) -> tuple[Limit, ...]:
    """Changes of harmony, turns of the form and the end, in order; of several at once the weightiest."""
    end = max((bar.offset for bar in arrangement.bars[-1:]), default=Fraction(0))
    last = max((note.offset for note in arrangement.notes), default=end)
    limits = [
        *((change, Ending.HARMONY_CHANGES) for change in _changes(arrangement.harmony)),
        *((turn, Ending.FORM_TURNS) for turn in _turns(arrangement.bars)),
        (max(end, last), Ending.PIECE_ENDS),
    ]
    return tuple(sorted(limits, key=lambda limit: (limit[0], _HAND_ORDER.index(limit[1]))))


def _changes(harmony: Sequence[HarmonySpan]) -> list[Quarters]:
    """Where another chord begins; a chord that is written again goes on."""
    return [
        now.onset
        for before, now in pairwise([None, *harmony])
        if now and not (before and _is_same(before.chord, now.chord))
    ]


def _is_same(one: Chord | None, other: Chord | None) -> bool:
    return one is other if one is None or other is None else one.is_same_as(other)


def _turns(bars: Sequence[Bar]) -> list[Quarters]:
    """The ends of bars after which the player goes somewhere else, at one pass at least."""
    return [bars[this].offset for this, following in pairwise(play_order(bars)) if following != this + 1]


# The ring.


def _find_ring(scene: _Scene, note: Note) -> Ring:
    limit = _limit_of(scene, note)
    end = _let_ring(scene, note, limit)
    return Ring(
        note=note,
        until=end.until,
        wanted_until=limit[0],
        ending=end.obstacle.ending,
        sentence=_say_ending(scene, note, end),
        taker=end.obstacle.taker,
        barre=end.obstacle.barre,
        carriers=end.carriers,
        remedy=_find_remedy(scene, note, end, limit) if end.obstacle.ending.is_loss else None,
    )


def _limit_of(scene: _Scene, note: Note) -> Limit:
    return next(limit for limit in scene.limits if limit[0] >= note.offset)


def _let_ring(scene: _Scene, note: Note, limit: Limit, change: _Change | None = None) -> _End:
    """Walk on from the written end until something does not go with the note."""
    carriers = _carriers_at_end(scene, note)
    for written in scene.during(note.offset, limit[0]):
        stretch = change.apply(written) if change else written
        lying = [barre for barre in stretch.barres if barre.finger is note.finger]
        kept = carriers[-1] if carriers and not lying else None
        obstacles = list(_obstacles(scene, note, stretch, kept))
        if obstacles:
            return _end_ring(stretch.span.onset, _first_told(obstacles), carriers)
        if kept and _tires_at(scene, kept) < min(stretch.span.offset, limit[0]):
            until = max(_tires_at(scene, kept), stretch.span.onset)
            return _end_ring(until, _Obstacle(Ending.BARRE_TIRES, barre=kept), carriers)
        carriers += [barre for barre in lying if barre not in carriers]
    return _end_ring(limit[0], _Obstacle(limit[1]), carriers)


def _carriers_at_end(scene: _Scene, note: Note) -> list[Barre]:
    """The barre in which a note lies at the end of its written length, if it does."""
    last = scene.stretches[scene.index_at[note.offset] - 1]
    return [barre for barre in last.barres if _covers(barre, note)]


def _covers(barre: Barre, note: Note) -> bool:
    is_there = note.place.fret == barre.fret and note.place.string in barre.strings
    return is_there and note.finger is barre.finger


def _end_ring(until: Quarters, obstacle: _Obstacle, carriers: Sequence[Barre]) -> _End:
    """Each barre is kept until the next begins, the last until the ring ends."""
    ends = [*(barre.span.onset for barre in carriers[1:]), until]
    kept = (
        replace(barre, span=Span(barre.span.onset, max(barre.span.offset, end)))
        for barre, end in zip(carriers, ends, strict=False)
    )
    return _End(until, obstacle, tuple(kept))


def _tires_at(scene: _Scene, carrier: Barre) -> Quarters:
    """When a barre has lain for as long as the level allows, with what it follows at its fret."""
    onset = carrier.span.onset
    for barre in sorted(scene.arrangement.barres, key=lambda barre: -barre.span.onset):
        if (barre.finger, barre.fret, barre.span.offset) == (carrier.finger, carrier.fret, onset):
            onset = barre.span.onset
    return max(onset + scene.level.barre_quarters, carrier.span.offset)


def _first_told(obstacles: Iterable[_Obstacle]) -> _Obstacle:
    return min(obstacles, key=lambda obstacle: _HAND_ORDER.index(obstacle.ending))


def _obstacles(scene: _Scene, note: Note, stretch: _Stretch, kept: Barre | None) -> Iterator[_Obstacle]:
    """All that a stretch holds against a note that rings on. ``kept`` is a barre kept down for it."""
    for other in stretch.notes:
        ending = _clash(scene, note, other, stretch, kept)
        if ending:
            yield _Obstacle(ending, taker=other)
    for barre in stretch.barres:
        ending = _barre_clash(scene, note, barre)
        if ending or (kept and _are_crossed(kept, barre)):
            yield _Obstacle(ending or Ending.BARRE_LIFTED, _first_in(barre, stretch), barre)


def _clash(scene: _Scene, note: Note, other: Note, stretch: _Stretch, kept: Barre | None) -> Ending | None:
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


def _spread_clash(scene: _Scene, note: Note, other: Note, lying: Sequence[Barre]) -> Ending | None:
    """Of two fingers: whether they cross, or lie too far apart."""
    if crosses(note, other):
        return Ending.FINGERS_CROSS
    if _apart_mm(note, other, lying) <= _most_mm(scene, note, other.finger):
        return None
    return Ending.HAND_SHIFTS if _position(note) != _position(other) else Ending.OUT_OF_REACH


def _apart_mm(note: Note, other: Note, lying: Sequence[Barre]) -> float:
    """Between two fingers; where one lies flat, from its barre."""
    for one, against in ((note, other), (other, note)):
        for barre in lying:
            if _covers(barre, one):
                return distance_from_barre_mm(barre, against.place)
    return distance_mm(note.place, other.place)


def _lying(stretch: _Stretch, kept: Barre | None) -> list[Barre]:
    return [*stretch.barres, *([kept] if kept else [])]


def _share_barre(note: Note, other: Note, stretch: _Stretch, kept: Barre | None) -> bool:
    return any(_covers(barre, note) and _covers(barre, other) for barre in _lying(stretch, kept))


def _most_mm(scene: _Scene, note: Note, finger: Finger) -> float:
    return outermost_mm(scene.level, note.finger, finger, scene.hand_size) + ROUNDING_MM


def _position(note: Note) -> int:
    return max(1, note.place.fret - note.finger + 1)


def _barre_clash(scene: _Scene, note: Note, barre: Barre) -> Ending | None:
    """A finger tip that rings may be laid flat where it stands."""
    if _covers(barre, note):
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


def _first_in(barre: Barre, stretch: _Stretch) -> Note | None:
    """The note for which a barre lies, the latest struck."""
    lying = [note for note in stretch.notes if note.in_barre and _covers(barre, note)]
    return max(lying, key=lambda note: note.onset, default=None)


# What would free it.


def _find_remedy(scene: _Scene, note: Note, end: _End, limit: Limit) -> Remedy | None:
    taker = end.obstacle.taker
    best = _best_of(scene, note, _hand_changes(scene, note, taker), end.until, limit)
    if best is None and taker and taker.role is Role.INNER:
        best = _best_of(scene, note, (_Change(taker, None),), end.until, limit)
    return best


def _best_of(
    scene: _Scene, note: Note, changes: Iterable[_Change], longer_than: Quarters, limit: Limit
) -> Remedy | None:
    """The change with which the note rings longest; the first that lets it ring all the time ends the search."""
    best: tuple[Quarters, _Change] | None = None
    for change in changes:
        until = _rings_until(scene, note, change, limit)
        if until is not None and until > (best[0] if best else longer_than):
            best = (until, change)
        if until == limit[0]:
            break
    return _remedy(scene, note, best[1], best[0]) if best else None


def _remedy(scene: _Scene, note: Note, change: _Change, until: Quarters) -> Remedy:
    sentence = _say_remedy(scene, note, change, until)
    return Remedy(note=change.note, instead=change.instead, rings_until=until, sentence=sentence)


def _hand_changes(scene: _Scene, note: Note, taker: Note | None) -> Iterator[_Change]:
    for each in (taker, note):
        if each:
            idle = tuple(barre for barre in scene.arrangement.barres if _is_idle_without(each, barre, scene))
            for other in _played_otherwise(scene, each):
                yield _Change(each, other, idle)


def _is_idle_without(note: Note, barre: Barre, scene: _Scene) -> bool:
    """Whether a barre of a note has at most one other note: a finger tip does for that."""
    if not (note.in_barre and _covers(barre, note) and note.span.overlaps(barre.span)):
        return False
    lying = [
        other
        for other in scene.arrangement.notes
        if other.in_barre and _covers(barre, other) and other.span.overlaps(barre.span)
    ]
    return len(lying) <= 2  # noqa: PLR2004 - the note itself and one more


def _played_otherwise(scene: _Scene, note: Note) -> Iterator[Note]:
    """The same place by other fingers, then other places, the nearest frets first."""
    fingers = () if note.place.is_open else FINGERS
    for finger in fingers:
        if finger is not note.finger:
            yield replace(note, finger=finger, in_barre=False)
    for place in _other_places(scene, note):
        for finger in (Finger.OPEN,) if place.is_open else FINGERS:
            yield replace(note, place=place, finger=finger, in_barre=False)


def _other_places(scene: _Scene, note: Note) -> list[Place]:
    level, arrangement = scene.level, scene.arrangement
    highest = level.accompaniment_highest_fret if note.role.is_accompaniment else level.melody_highest_fret
    places = arrangement.tuning.places(note.pitch.midi, min(highest, LAST_FRET - arrangement.capo))
    others = [place for place in places if place != note.place]
    return sorted(others, key=lambda place: abs(place.fret - note.place.fret))


def _rings_until(scene: _Scene, note: Note, change: _Change, limit: Limit) -> Quarters | None:
    """How long the note rings after a change, None where the hand cannot do what is changed."""
    if change.instead and not _fits(scene, change.instead, change):
        return None
    ringing = change.instead if change.note is note and change.instead else note
    return _let_ring(scene, ringing, limit, change).until


def _fits(scene: _Scene, note: Note, change: _Change) -> bool:
    """Whether a note can be sounded for its written length among all else."""
    for written in scene.during(note.onset, note.offset):
        stretch = change.apply(written)
        others = replace(stretch, notes=tuple(other for other in stretch.notes if other is not note))
        if any(_obstacles(scene, note, others, None)):
            return False
    return True


# In words.


def _say_ending(scene: _Scene, note: Note, end: _End) -> str:
    ending, taker, barre = end.obstacle.ending, end.obstacle.taker, end.obstacle.barre
    when = name_moment(scene.arrangement.bars, end.until)
    if ending is Ending.PIECE_ENDS:
        return "the end of the piece"
    if barre:
        return f"{when}: {_say_barre(ending, barre, taker)}"
    return f"{when}: {_say_taker(ending, note, taker) if taker else ending}"


def _say_barre(ending: Ending, barre: Barre, taker: Note | None) -> str:
    reason = f" for {name_note(taker)}" if taker else ""
    if ending is Ending.BARRE_TIRES:
        return f"{name_barre(barre)} has lain for as long as the level allows"
    return f"{name_barre(barre)} is laid{reason}"


def _say_taker(ending: Ending, note: Note, taker: Note) -> str:
    named = name_note(taker)
    return {
        Ending.STRUCK_AGAIN: f"it is struck again on string {note.place.string}",
        Ending.STRING_STRUCK: f"string {note.place.string} is struck for {named}",
        Ending.FINGER_MOVES: f"finger {note.finger} is needed for {named}",
        Ending.BARRE_LIFTED: f"the barre is lifted for {named}",
        Ending.FINGERS_CROSS: f"finger {note.finger} would cross finger {taker.finger} at {named}",
        Ending.HAND_SHIFTS: f"the hand goes to position {roman(_position(taker))} for {named}",
    }.get(ending, f"the hand cannot reach {named} besides")


def _say_remedy(scene: _Scene, note: Note, change: _Change, until: Quarters) -> str:
    whose = "it" if change.note is note else name_note(change.note)
    does = f"with {whose} {_say_instead(change)}"
    if change.instead is None:
        does = f"with {whose} left out"
    return f"{does} it rings until {name_moment(scene.arrangement.bars, until)}"


def _say_instead(change: _Change) -> str:
    old, new = change.note, change.instead
    if new is None:
        return ""
    if new.place == old.place:
        return f"by finger {new.finger}"
    return f"played on {new.place}" + ("" if new.place.is_open else f" by finger {new.finger}")
