"""What a touch means for the plan."""

from fractions import Fraction

import pytest

from apoyando.desk.paper import Named
from apoyando.desk.settling import (
    BarSettings,
    free_note,
    let_free,
    lock_beside,
    locks_on,
    read_bar_settings,
    settle_bar,
    settle_note,
    take_out,
)
from apoyando.model.arrangement import Role
from apoyando.model.errors import UsageError
from apoyando.model.hand import Finger
from apoyando.model.instrument import Fret, Place, StringNumber
from apoyando.model.locks import (
    AvoidFingerLock,
    FreeFingerLock,
    NoBarreLock,
    NoteLock,
    PositionLock,
    ShapeLock,
    Stretch,
)
from apoyando.model.plan import Plan, Section

LEVELS = ("early", "intermediate", "advanced")
TUNE = Named("3", Fraction(5, 2), Role.MELODY, 1)
INNER = Named("3", Fraction(1), Role.INNER, 3)
BAR_3 = Stretch(bar="3")


def note_lock(string: int, voice: Role = Role.INNER, beat: Fraction = Fraction(1)) -> NoteLock:
    return NoteLock(bar="3", beat=beat, voice=voice, string=StringNumber(string), finger=Finger(2))


def settle(plan: Plan, entry: str, value: str, fingers: str = "") -> Plan:
    return settle_bar(plan, "3", entry, value, fingers, LEVELS)


def test_a_way_becomes_a_lock_on_the_note() -> None:
    plan = settle_note(Plan(), TUNE, {"string": 2, "fret": 5, "finger": 4}, LEVELS)

    assert plan.locks == (
        NoteLock(bar="3", beat=Fraction(5, 2), string=StringNumber(2), fret=Fret(5), finger=Finger.LITTLE),
    )


def test_another_way_takes_the_place_of_the_first_and_of_no_other_note() -> None:
    other = note_lock(5, Role.BASS)
    plan = settle_note(Plan(locks=(other,)), TUNE, {"string": 2}, LEVELS)
    plan = settle_note(plan, TUNE, {"string": 3}, LEVELS)

    assert [lock.string for lock in locks_on(plan, TUNE)] == [3]
    assert plan.locks[0] == other


def test_a_note_of_the_accompaniment_is_left_out_and_comes_back() -> None:
    plan = settle_note(Plan(), INNER, {"silent": True}, LEVELS)

    assert plan.locks == (NoteLock(bar="3", beat=Fraction(1), voice=Role.INNER, is_silent=True),)
    assert free_note(plan, INNER) == Plan()


def test_of_inner_notes_struck_together_each_has_a_lock_of_its_own() -> None:
    both = Plan(locks=(note_lock(3), note_lock(4)))

    assert free_note(both, INNER).locks == (note_lock(4),)
    assert settle_note(both, INNER, {"string": 2}, LEVELS).locks[0] == note_lock(4)


def test_a_way_that_cannot_be_meant_is_told_as_in_a_plan_file() -> None:
    with pytest.raises(UsageError, match=r"lock 1 \(bar 3\).*string"):
        settle_note(Plan(), TUNE, {"string": 7}, LEVELS)


@pytest.mark.parametrize(
    ("entry", "value", "settled"),
    [
        ("position", "5", PositionLock(BAR_3, 5)),
        ("barre", "false", NoBarreLock(BAR_3)),
        ("free_finger", "4", FreeFingerLock(BAR_3, Finger.LITTLE)),
        ("avoid_finger", "3", AvoidFingerLock(BAR_3, Finger.RING)),
    ],
)
def test_an_entry_of_a_bar_becomes_a_lock_on_it_and_is_taken_back(
    entry: str, value: str, settled: object
) -> None:
    plan = settle(Plan(), entry, value)

    assert plan.locks == (settled,)
    assert getattr(read_bar_settings(plan, "3"), entry) == value
    assert settle(plan, entry, "") == Plan()


def test_a_chord_shape_is_typed_as_players_write_it_with_its_fingers_or_without() -> None:
    plan = settle(Plan(), "shape", " x32010 ", "x32010")

    (lock,) = plan.locks
    assert isinstance(lock, ShapeLock)
    assert lock.frets == (None, 3, 2, 0, 1, 0)
    assert lock.fingers == (None, 3, 2, 0, 1, 0)
    shown = read_bar_settings(plan, "3")
    assert (shown.shape, shown.fingers) == ("x32010", "x32010")
    assert read_bar_settings(settle(plan, "shape", "320003"), "3").fingers == ""


@pytest.mark.parametrize("shape", ["x3201", "x3201y", "xxxxxx", "32"])
def test_a_shape_that_is_none_is_told(shape: str) -> None:
    with pytest.raises(UsageError, match="shape"):
        settle(Plan(), "shape", shape)


def test_a_bar_has_a_texture_and_steps_of_its_own_which_do_not_disturb_each_other() -> None:
    around = Section("1", "bare", "8")
    plan = settle(Plan(sections=(around,)), "texture", "arpeggio")
    plan = settle(plan, "easier", "2")

    assert plan.sections == (around, Section("3", "arpeggio", "", 2))
    assert read_bar_settings(plan, "3").easier == "2"
    assert settle(settle(plan, "texture", ""), "easier", "").sections == (around,)


def test_a_lock_on_a_longer_stretch_is_not_the_bars_own() -> None:
    longer = PositionLock(Stretch(bar="3", to_bar="5"), 5)
    assert read_bar_settings(Plan(locks=(longer,)), "3") == BarSettings()
    assert settle(Plan(locks=(longer,)), "position", "").locks == (longer,)


def test_what_nobody_can_settle_is_told() -> None:
    with pytest.raises(UsageError, match="nothing called key"):
        settle(Plan(), "key", "C")


def test_what_was_settled_is_taken_out_by_its_name() -> None:
    lock, section = NoBarreLock(BAR_3), Section("3", "bare")
    plan = Plan(locks=(lock, note_lock(3)), sections=(section,))

    assert take_out(plan, str(lock)).locks == (note_lock(3),)
    assert take_out(plan, str(section)).sections == ()
    assert take_out(plan, "another") == plan


def test_inner_notes_struck_together_are_settled_together_and_let_free_together() -> None:
    lower, upper = Named("2", Fraction(1), Role.INNER, 4), Named("2", Fraction(1), Role.INNER, 2)
    beside = lock_beside(Plan(), lower, [Place(StringNumber(2), Fret(3))])
    left_out = settle_note(Plan(), lower, {"silent": True}, LEVELS, beside)
    assert [str(lock) for lock in left_out.locks] == [
        "bar 2, beat 1: the inner voice on string 2, fret 3",
        "bar 2, beat 1: the inner voice left out",
    ]
    moved = settle_note(left_out, upper, {"string": 3, "fret": 7, "finger": 2}, LEVELS)
    assert [str(lock) for lock in moved.locks] == [
        "bar 2, beat 1: the inner voice on string 3, fret 7, finger 2"
    ]
    assert let_free(left_out, lower) == let_free(left_out, upper) == Plan()


def test_what_the_plan_says_of_a_note_beside_is_not_said_again() -> None:
    named = Named("2", Fraction(1), Role.INNER, 4)
    plan = settle_note(
        Plan(), Named("2", Fraction(1), Role.INNER, 2), {"string": 2, "fret": 3, "finger": 1}, LEVELS
    )
    beside = lock_beside(plan, named, [Place(StringNumber(2), Fret(3))])
    assert beside == plan.locks
    assert len(settle_note(plan, named, {"string": 4, "fret": 2, "finger": 2}, LEVELS, beside).locks) == 2
