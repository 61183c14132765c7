"""A hand shifts as seldom as it can, and where there is time: held against every way to shift.

How far a finger reaches is the module's own rule, told in its docstring (common practice, no source);
the fewest shifts and the least haste are found here by trying every way.
"""

from collections.abc import Iterator, Sequence
from fractions import Fraction
from itertools import combinations, pairwise
from random import Random

import pytest

from apoyando.model.arrangement import Note
from apoyando.model.position import Shift, list_shifts
from proofing.scene import stop

EIGHTH, SIXTEENTH = Fraction(1, 2), Fraction(1, 4)


def reaches(notes: Sequence[Note]) -> tuple[int, int]:
    homes = [note.place.fret - note.finger + 1 for note in notes]
    lowest, highest = max(homes) - 1, max(1, min(homes) + 1)
    return min(lowest, highest), max(lowest, highest)


def is_one_stay(notes: Sequence[Note]) -> bool:
    """A line of single notes, each held until the next: the hand lies still through all of them."""
    ranges = [reaches([note]) for note in notes]
    apart = any(
        one.finger is other.finger and abs(one.place.fret - other.place.fret) > 1
        for one, other in combinations(notes, 2)
    )
    return max(low for low, _ in ranges) <= min(high for _, high in ranges) and not apart


def every_way(line: Sequence[Note]) -> Iterator[tuple[int, ...]]:
    """Where shifts can be, in every way in which the hand lies still between them."""
    for count in range(len(line)):
        for cuts in combinations(range(1, len(line)), count):
            if all(is_one_stay(line[start:end]) for start, end in pairwise((0, *cuts, len(line)))):
                yield cuts


def haste(line: Sequence[Note], cuts: Sequence[int]) -> Fraction:
    """Nothing where a rest lets the hand go; else the more the shorter the time."""
    gaps = [(line[at - 1].offset < line[at].onset, line[at].onset - line[at - 1].onset) for at in cuts]
    return sum((Fraction(0) if is_free else 1 / gap for is_free, gap in gaps), Fraction(0))


def random_line(random: Random) -> list[Note]:
    line, onset = [], Fraction(0)
    for _ in range(random.randint(2, 7)):
        gap = random.choice((SIXTEENTH, EIGHTH, Fraction(1)))
        length = gap if random.random() < 0.8 else gap / 2
        finger = random.randint(1, 4)
        fret = max(1, finger + random.choice((0, 1, 2, 2, 4)) - random.choice((0, 1)))
        line.append(stop(random.randint(1, 6), fret, finger, str(onset), str(length)))
        onset += gap
    return line


def cuts_of(line: Sequence[Note], shifts: Sequence[Shift]) -> list[int]:
    return [[note.onset for note in line].index(shift.onset) for shift in shifts]


def test_of_all_ways_to_shift_as_seldom_as_can_be_none_has_more_time() -> None:
    random, moved = Random(8), 0  # noqa: S311 - a fixed choice
    for _ in range(400):
        line = random_line(random)
        ways = list(every_way(line))
        fewest = len(ways[0])
        least = min(haste(line, cuts) for cuts in ways if len(cuts) == fewest)
        found = cuts_of(line, list_shifts(line))
        # A stay whose position is that of the stay before is no shift, and is not listed.
        if len(found) == fewest:
            moved += bool(found)
            assert tuple(found) in ways
            assert haste(line, found) == least, line
        assert len(found) <= fewest
    assert moved > 100


def test_a_shift_is_made_after_the_long_note_and_not_after_the_short_one() -> None:
    """Finger 2 at fret 3 lies in reach of both positions, so the hand need not wait for the last moment."""
    line = [stop(1, 1, 1, 0, 1), stop(1, 3, 2, 1, "1/4"), stop(1, 6, 3, "5/4", 1)]
    (shift,) = list_shifts(line)
    assert (shift.since, shift.onset) == (Fraction(0), Fraction(1))


def test_where_the_hand_is_free_at_the_last_moment_it_waits_for_it() -> None:
    line = [stop(1, 1, 1, 0, 1), stop(1, 3, 2, 1, "1/4"), stop(1, 6, 3, 2, 1)]
    (shift,) = list_shifts(line)
    assert shift.onset == 2
    assert shift.is_free


@pytest.mark.parametrize("count", [0, 1])
def test_there_is_no_shift_without_two_notes(count: int) -> None:
    assert list_shifts([stop(1, 1, 1, 0, 1)] * count) == ()


def test_what_no_hand_can_take_is_a_stay_by_itself() -> None:
    """Finger 1 at frets 1 and 5 at once: other rules refute it, this one only comes to an end."""
    impossible = [stop(1, 1, 1, 1, 1), stop(2, 5, 1, 1, 1)]
    assert len(list_shifts([stop(1, 1, 1, 0, 1), *impossible, stop(1, 1, 1, 2, 1)])) <= 2
