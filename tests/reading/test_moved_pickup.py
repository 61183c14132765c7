"""Another pickup moves the barlines, and nothing that the player has said of the music."""

from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from apoyando.arranging.lock_places import find_span
from apoyando.model.beat import find_beat
from apoyando.model.hand import Finger
from apoyando.model.locks import AvoidFingerLock, FreeFingerLock, NoBarreLock, NoteLock, PositionLock, Stretch
from apoyando.model.plan import Plan, Section
from apoyando.model.time import Span
from apoyando.reading import move_pickup, read_planned_song

TUNE = b'X:1\nT:Gate\nM:4/4\nL:1/4\nK:C\n"C"G C D E | F "G"G2 C | "C"C4 | "F"F4 | "C"C4 |]\n'
QUARTER = Fraction(1)


def stretch_of(
    bar: str, to_bar: str = "", beat: Fraction | None = None, until_beat: Fraction | None = None
) -> Stretch:
    return Stretch(bar=bar, to_bar=to_bar, beat=beat, until_beat=until_beat)


def move(plan: Plan, pickup: Fraction | None = QUARTER) -> Plan:
    return move_pickup(TUNE, "gate.abc", plan, pickup)


def test_a_lock_stays_on_its_note() -> None:
    lock = NoteLock(bar="2", beat=Fraction(1), finger=Finger.RING)
    moved = move(Plan(locks=(lock,)))

    assert moved.pickup == QUARTER
    assert moved.locks == (NoteLock(bar="1", beat=Fraction(4), finger=Finger.RING),)
    assert move(moved, None).locks == (lock,)


@pytest.mark.parametrize(
    ("before", "after"),
    [
        (Stretch(), Stretch()),
        (stretch_of("1"), stretch_of("0", "1", until_beat=Fraction(4))),
        (stretch_of("2"), stretch_of("1", "2", beat=Fraction(4), until_beat=Fraction(4))),
        (stretch_of("2", beat=Fraction(2)), stretch_of("2", until_beat=Fraction(4))),
        (stretch_of("2", until_beat=Fraction(2)), stretch_of("1", beat=Fraction(4))),
        (stretch_of("1", until_beat=Fraction(2)), stretch_of("0")),
        (stretch_of("2", "4"), stretch_of("1", "4", beat=Fraction(4), until_beat=Fraction(4))),
        (stretch_of("77"), stretch_of("77")),
    ],
)
def test_what_was_said_of_bars_holds_from_beat_to_beat(before: Stretch, after: Stretch) -> None:
    moved = move(Plan(locks=(PositionLock(before, 5), FreeFingerLock(before, Finger.RING))))

    assert moved.locks == (PositionLock(after, 5), FreeFingerLock(after, Finger.RING))
    assert move(moved, None).locks == (PositionLock(before, 5), FreeFingerLock(before, Finger.RING))


def test_a_section_takes_the_bars_in_which_most_of_its_own_lie() -> None:
    sections = (Section("2", "bare", "3"), Section("4", easier=1))

    assert move(Plan(sections=sections)).sections == sections
    late = move(Plan(sections=sections), Fraction(3))
    assert late.sections == (Section("1", "bare", "2"), Section("3", easier=1))


def test_what_lay_in_silence_that_is_cut_off_is_no_more() -> None:
    song = TUNE.replace(b'"C"G C D E', b'z z z "C"E')
    locks = (
        NoBarreLock(stretch_of("1", until_beat=Fraction(3))),
        NoBarreLock(stretch_of("1", beat=Fraction(3))),
    )

    assert move_pickup(song, "gate.abc", Plan(locks=locks), QUARTER).locks == (NoBarreLock(stretch_of("0")),)


EXAMPLES = [
    file
    for file in (Path(__file__).parents[2] / "examples").iterdir()
    if file.suffix in {".abc", ".musicxml"}
]


@given(
    st.sampled_from(EXAMPLES),
    st.none() | st.sampled_from([Fraction(0), Fraction(1, 2), Fraction(1), Fraction(3, 2)]),
    st.data(),
)
def test_a_lock_covers_the_same_music_with_any_pickup(
    file: Path, pickup: Fraction | None, data: st.DataObject
) -> None:
    """By the reckoning of the room that uses the locks."""
    before = read_planned_song(file.read_bytes(), file.name, Plan())
    first = data.draw(st.integers(0, len(before.bars) - 1))
    last = data.draw(st.integers(first, min(first + 3, len(before.bars) - 1)))
    beat = data.draw(st.none() | st.just(Fraction(3, 2)))
    bar = before.bars[first]
    if beat is not None and not bar.span.contains(find_beat(bar, beat)):
        beat = None
    stretch = stretch_of(bar.number, before.bars[last].number if last > first else "", beat)
    lock = AvoidFingerLock(stretch, Finger.LITTLE)

    moved = move_pickup(file.read_bytes(), file.name, Plan(locks=(lock,)), pickup)
    after = read_planned_song(file.read_bytes(), file.name, replace(moved, locks=()))
    shift = before.melody[0].onset - after.melody[0].onset
    span = find_span(before, lock)
    (kept,) = moved.locks
    assert find_span(after, kept) == Span(max(span.onset - shift, Fraction(0)), span.offset - shift)
