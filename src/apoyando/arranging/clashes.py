"""Locks that cannot be kept together: the smallest set of them, told in the player's words.

Why it is enough to look at one stretch of the song at a time: from a slice to the next all
that is forbidden is that a held note changes its string or finger; every other move has a
price, but is allowed. Where no note is held over, any grip may follow any other. So a song
can be played with some locks exactly if each stretch between such moments can, and a
smallest set of locks that clash clashes within one stretch.
"""

from collections.abc import Callable, Iterable, Iterator, Sequence
from itertools import combinations, pairwise

from apoyando.arranging.locks import lock_song
from apoyando.arranging.posed import PosedSong
from apoyando.fingering import NoWayError, Problem, Solution
from apoyando.model.errors import UsageError
from apoyando.model.locks import Lock

Solve = Callable[[Problem], Solution]
"""The search. Raises NoWayError."""


def explain_clash(posed: PosedSong, locks: Sequence[Lock], solve: Solve) -> UsageError | None:
    """What to tell the player where the locks leave no way; None if it is not the locks.

    ``posed`` is the song without locks.
    """
    clash = find_smallest_clash(posed, locks, solve)
    if not clash:
        return None
    if len(clash) == 1:
        return UsageError(
            f'The lock "{clash[0]}" cannot be kept: at the level {posed.setting.level.name} no hand reaches '
            "the notes that must sound there so. Change it or take it out."
        )
    told = "; ".join(f'({number}) "{lock}"' for number, lock in enumerate(clash, 1))
    return UsageError(f"These {len(clash)} locks cannot be kept together: {told}. Change one or take it out.")


def find_smallest_clash(posed: PosedSong, locks: Sequence[Lock], solve: Solve) -> tuple[Lock, ...]:
    """The fewest locks that cannot be kept together; the earliest among equals, none if all can.

    Law: without any one of them the others can be kept, and no smaller set clashes.
    """
    smallest: tuple[Lock, ...] = ()
    for touching, is_possible in _stretches(posed, locks, solve):
        if not is_possible(touching):
            at_most = len(smallest) - 1 if smallest else len(touching)
            smallest = _find_in_stretch(touching, is_possible, at_most) or smallest
    return smallest


def _find_in_stretch(
    locks: tuple[Lock, ...], is_possible: Callable[[Sequence[Lock]], bool], at_most: int
) -> tuple[Lock, ...]:
    """The smallest clash of one stretch, by trying the sets in order of size.

    ``locks`` together clash. A set is not tried if it lies within one that is known to be
    possible: all but one, where that lock is in every clash, or a possible set grown as large
    as it will go.
    """
    indices = range(len(locks))
    all_but_one = [[each for each in indices if each != index] for index in indices]
    possible = [set(most) for most in all_but_one if is_possible([locks[index] for index in most])]
    for size in range(1, at_most + 1):
        for chosen in combinations(indices, size):
            if any(known.issuperset(chosen) for known in possible):
                continue
            if size == len(locks) or not is_possible([locks[index] for index in chosen]):
                return tuple(locks[index] for index in chosen)
            possible.append(_grow(chosen, locks, is_possible))
    return ()


def _grow(
    chosen: Iterable[int], locks: Sequence[Lock], is_possible: Callable[[Sequence[Lock]], bool]
) -> set[int]:
    """A possible set to which no further lock can be added."""
    grown = set(chosen)
    for index in range(len(locks)):
        if index not in grown and is_possible([locks[each] for each in sorted({*grown, index})]):
            grown.add(index)
    return grown


def _stretches(
    posed: PosedSong, locks: Sequence[Lock], solve: Solve
) -> Iterator[tuple[tuple[Lock, ...], Callable[[Sequence[Lock]], bool]]]:
    """For each stretch that locks touch: which do, and whether some of them can be kept there."""
    touched = [_slices_touched(posed, lock) for lock in locks]
    for stretch in split_stretches(posed.problem):
        touching = [lock for lock, slices in zip(locks, touched, strict=True) if slices.intersection(stretch)]
        if touching:
            yield tuple(touching), _possibility(posed, stretch, solve)


def _possibility(posed: PosedSong, stretch: range, solve: Solve) -> Callable[[Sequence[Lock]], bool]:
    def is_possible(locks: Sequence[Lock]) -> bool:
        try:
            slices = lock_song(posed, locks).problem.slices
            solve(Problem(slices[stretch.start : stretch.stop]))
        except NoWayError:
            return False
        return True

    return is_possible


def _slices_touched(posed: PosedSong, lock: Lock) -> set[int]:
    """The slices that a lock poses anew. One that is impossible by itself is taken to touch all."""
    try:
        locked = lock_song(posed, (lock,)).problem.slices
    except NoWayError:
        return set(range(len(posed.slices)))
    return {index for index, slice_ in enumerate(posed.problem.slices) if locked[index] is not slice_}


def split_stretches(problem: Problem) -> list[range]:
    """The stretches of a problem: each begins where no note is held over."""
    starts = [
        index
        for index, slice_ in enumerate(problem.slices)
        if not index or not any(voice.is_held for voice in slice_.voices)
    ]
    return [range(start, stop) for start, stop in pairwise([*starts, len(problem.slices)])]
