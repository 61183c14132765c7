"""The player's word: locks put on a song that has been posed.

A lock narrows what a note of the plot may be (``narrowing``), or what the hand may do in a slice. Where it
names a string, a fret or a position, it goes over the level's highest fret.
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace

from apoyando.arranging.lock_places import find_entries, find_span, misplaced
from apoyando.arranging.narrowing import Entry, Narrowed, Placed, narrow_notes
from apoyando.arranging.plot import Plot
from apoyando.arranging.posed import PosedSong
from apoyando.arranging.setting import Setting
from apoyando.arranging.slices import PlottedSlice, rebuild_slices
from apoyando.fingering import UNRESTRICTED, NoWayError, Problem, Restriction
from apoyando.model.arrangement import Relaxation, Role
from apoyando.model.hand import Finger
from apoyando.model.locks import (
    AvoidFingerLock,
    FreeFingerLock,
    Lock,
    NoBarreLock,
    NoteLock,
    PositionLock,
    ShapeLock,
)


def lock_song(posed: PosedSong, locks: Sequence[Lock]) -> PosedSong:
    """The song with the player's locks on it: only the slices that they touch are posed anew.

    ``posed`` is without locks. Raises UsageError for a lock that names what is not there,
    and NoWayError where locks leave a note or the hand no choice at all.
    """
    if not locks:
        return posed
    placed = [(lock, find_span(posed.song, lock)) for lock in locks]
    _check_frets(locks, posed.setting)
    on_notes = [lock for lock in locks if isinstance(lock, NoteLock) and not lock.is_silent]
    entries = find_entries(posed.plot, posed.song, on_notes, posed.setting.tuning)
    at = {lock: (lock.voice, entry) for lock, entry in entries.items()}
    narrowed = narrow_notes(posed, placed, at)
    plot = _narrow_plot(posed.plot, narrowed, set(at.values()))
    changed = _slices_of(posed.slices, plot.roles, narrowed)
    problem = rebuild_slices(posed.problem, plot, posed.slices, changed, posed.setting)
    return replace(posed, plot=plot, problem=_restrict(problem, posed.slices, placed), locks=tuple(locks))


def _check_frets(locks: Iterable[Lock], setting: Setting) -> None:
    """Raises UsageError for a fret that is not there."""
    for lock in locks:
        match lock:
            case NoteLock():
                highest = lock.fret or 0
            case ShapeLock():
                highest = max(place.fret for place, _ in lock.stops)
            case PositionLock():
                highest = lock.position
            case _:
                continue
        if highest > setting.last_fret:
            raise misplaced(
                lock, f"with the capo at fret {setting.capo} the last fret is {setting.last_fret}."
            )


def mention_locks(relaxations: Iterable[Relaxation], posed: PosedSong) -> tuple[Relaxation, ...]:
    """The relaxations, each with the locks on its bar: they may leave no better way."""
    spans = [(lock, find_span(posed.song, lock)) for lock in posed.locks]
    placed = [(lock, span) for lock, span in spans if span.duration < posed.song.duration]

    def mention(relaxation: Relaxation) -> Relaxation:
        there = "; ".join(str(lock) for lock, span in placed if span.contains(relaxation.onset))
        return replace(relaxation, reason=f"{relaxation.reason} (locked: {there})") if there else relaxation

    return tuple(mention(relaxation) for relaxation in relaxations)


# What the search is asked.


def _narrow_plot(plot: Plot, narrowed: Narrowed, locked: set[Entry]) -> Plot:
    return replace(
        plot,
        sung=tuple(narrowed.get((Role.MELODY, index), left) for index, left in enumerate(plot.sung)),
        bass=tuple(
            (replace(due, is_locked=(Role.BASS, index) in locked), narrowed.get((Role.BASS, index), left))
            for index, (due, left) in enumerate(plot.bass)
        ),
        inner=tuple(
            (replace(due, is_locked=(Role.INNER, index) in locked), narrowed.get((Role.INNER, index), left))
            for index, (due, left) in enumerate(plot.inner)
        ),
    )


def _slices_of(slices: Sequence[PlottedSlice], roles: Sequence[Role], narrowed: Narrowed) -> list[int]:
    """The slices in which a narrowed note sounds, and those that follow them: their steps come from it."""
    sounding = {
        index
        for index, now in enumerate(slices)
        if set(zip(roles, now.entries, strict=True)) & narrowed.keys()
    }
    return sorted(index for index in sounding | {index + 1 for index in sounding} if index < len(slices))


def _restrict(problem: Problem, slices: Sequence[PlottedSlice], placed: Iterable[Placed]) -> Problem:
    """The question with what the hand may not do. Raises NoWayError for two positions at once."""
    restrictions: dict[int, Restriction] = {}
    for lock, span in placed:
        tighten = _tightening(lock)
        if tighten:
            for index, slice_ in enumerate(slices):
                if slice_.span.overlaps(span):
                    restrictions[index] = tighten(restrictions.get(index, UNRESTRICTED))
    restricted = (
        replace(slice_, restriction=restrictions[index]) if index in restrictions else slice_
        for index, slice_ in enumerate(problem.slices)
    )
    return replace(problem, slices=tuple(restricted))


def _tightening(lock: Lock) -> Callable[[Restriction], Restriction] | None:
    """What a lock adds to a restriction; None if it does not concern the hand as a whole."""
    match lock:
        case PositionLock():
            return lambda before: _in_position(before, lock.position)
        case NoBarreLock():
            return lambda before: replace(before, allows_barre=False)
        case FreeFingerLock() | AvoidFingerLock():
            return lambda before: _without(before, lock.finger)
        case _:
            return None


def _in_position(before: Restriction, position: int) -> Restriction:
    if before.position not in {None, position}:
        raise NoWayError(f"the hand is asked for in positions {before.position} and {position} at once")
    return replace(before, position=position)


def _without(before: Restriction, finger: Finger) -> Restriction:
    return replace(before, free_fingers=tuple(sorted({*before.free_fingers, finger})))
