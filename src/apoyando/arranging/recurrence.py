"""Recurrence: bars that come again, with the same tune over the same harmony."""

from bisect import bisect_left
from collections import defaultdict
from collections.abc import Hashable, Sequence
from dataclasses import replace

from apoyando.arranging.posed import PosedSong
from apoyando.arranging.slices import PlottedSlice
from apoyando.fingering import Problem, Slice
from apoyando.model.song import Bar, bar_at


def find_recurrences(
    problem: Problem, slices: Sequence[PlottedSlice], bars: Sequence[Bar]
) -> tuple[tuple[range, ...], ...]:
    """For each bar that comes again the slices of all its comings, in the order of the first.

    Two bars are one if the search is asked the same in both. How the voices come to the bar,
    from the notes before it, does not matter.
    """
    comings: dict[Hashable, list[range]] = defaultdict(list)
    onsets = [slice_.span.onset for slice_ in slices]
    for bar in bars:
        stretch = range(bisect_left(onsets, bar.onset), bisect_left(onsets, bar.offset))
        if stretch:
            comings[_asked(problem.slices[stretch.start : stretch.stop])].append(stretch)
    return tuple(tuple(stretches) for stretches in comings.values() if len(stretches) > 1)


def _asked(slices: Sequence[Slice]) -> tuple[Slice, ...]:
    first, *others = slices
    voices = tuple(replace(voice, steps=()) for voice in first.voices)
    return (replace(first, voices=voices, successions=()), *others)


def slices_alike(posed: PosedSong, index: int) -> list[int]:
    """The slices that are to be played as this one, itself among them."""
    for group in posed.problem.alike:
        for stretch in group:
            if index in stretch:
                return [other.start + index - stretch.start for other in group]
    return [index]


def bars_alike(posed: PosedSong, index: int) -> list[int]:
    """The bars that are to be played as this one, itself among them."""
    for group in posed.problem.alike:
        comings = [bar_at(posed.song.bars, posed.slices[stretch.start].onset).index for stretch in group]
        if index in comings:
            return comings
    return [index]
