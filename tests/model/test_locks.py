"""Locks in the player's own words."""

from fractions import Fraction

import pytest

from apoyando.model.arrangement import Role
from apoyando.model.hand import Finger
from apoyando.model.instrument import Fret, Place, StringNumber
from apoyando.model.locks import (
    AvoidFingerLock,
    FreeFingerLock,
    Lock,
    NoBarreLock,
    NoteLock,
    PositionLock,
    ShapeLock,
    Stretch,
    is_of_one_key,
    write_shape,
)

BEAT = Fraction(5, 2)
OPEN_C = tuple(None if fret is None else Fret(fret) for fret in (None, 3, 2, 0, 1, 0))
C_FINGERS = tuple(None if finger is None else Finger(finger) for finger in (None, 3, 2, 0, 1, 0))
WHOLE_BAR = Stretch(bar="3")


@pytest.mark.parametrize(
    ("stretch", "words"),
    [
        (Stretch(), "the whole piece"),
        (WHOLE_BAR, "bar 3"),
        (Stretch(bar="3", to_bar="5"), "bars 3 to 5"),
        (Stretch(bar="3", beat=BEAT), "bar 3 from beat 2½"),
        (Stretch(bar="3", until_beat=BEAT), "bar 3 until beat 2½"),
        (Stretch(bar="3", beat=Fraction(2), until_beat=BEAT), "bar 3 from beat 2 until beat 2½"),
        (Stretch(bar="3", to_bar="4", beat=BEAT), "bar 3 from beat 2½ to bar 4"),
        (Stretch(bar="3", to_bar="4", until_beat=BEAT), "bar 3 to bar 4 until beat 2½"),
    ],
)
def test_a_stretch_says_from_where_to_where(stretch: Stretch, words: str) -> None:
    assert str(stretch) == words


@pytest.mark.parametrize(
    ("lock", "words"),
    [
        (NoteLock(bar="3", beat=BEAT, string=StringNumber(2)), "bar 3, beat 2½: the melody on string 2"),
        (
            NoteLock(bar="3", beat=BEAT, voice=Role.BASS, string=StringNumber(5), fret=Fret(0)),
            "bar 3, beat 2½: the bass on string 5, open",
        ),
        (
            NoteLock(bar="3", beat=BEAT, voice=Role.INNER, fret=Fret(2), finger=Finger.RING),
            "bar 3, beat 2½: the inner voice on fret 2, finger 3",
        ),
        (
            NoteLock(bar="3", beat=BEAT, finger=Finger.LITTLE),
            "bar 3, beat 2½: the melody with finger 4",
        ),
        (NoteLock(bar="3", beat=BEAT, finger=Finger.OPEN), "bar 3, beat 2½: the melody on an open string"),
        (NoteLock(bar="3", beat=BEAT, fret=Fret(0)), "bar 3, beat 2½: the melody on an open string"),
        (PositionLock(WHOLE_BAR, 5), "bar 3: in position V"),
        (ShapeLock(WHOLE_BAR, OPEN_C), "bar 3: the chord shape x32010"),
        (ShapeLock(WHOLE_BAR, OPEN_C, C_FINGERS), "bar 3: the chord shape x32010, fingers x32010"),
        (NoBarreLock(WHOLE_BAR), "bar 3: no barre"),
        (FreeFingerLock(WHOLE_BAR, Finger.RING), "bar 3: finger 3 free"),
        (AvoidFingerLock(Stretch(), Finger.LITTLE), "the whole piece: without finger 4"),
    ],
)
def test_a_lock_says_where_and_what(lock: Lock, words: str) -> None:
    assert str(lock) == words


def test_a_chord_shape_is_written_from_string_6_to_string_1() -> None:
    shape = ShapeLock(WHOLE_BAR, OPEN_C, C_FINGERS)
    assert shape.stops[0] == (Place(StringNumber(5), Fret(3)), Finger.RING)
    assert shape.stops[-1] == (Place(StringNumber(1), Fret(0)), Finger.OPEN)


def test_a_shape_without_fingers_leaves_them_open() -> None:
    assert {finger for _, finger in ShapeLock(WHOLE_BAR, OPEN_C).stops} == {None}


def test_frets_of_two_digits_are_written_apart() -> None:
    assert write_shape((None, 10, 12, 12, 12, 10)) == "x 10 12 12 12 10"


def test_locks_on_notes_positions_and_shapes_belong_to_one_key_and_those_on_fingers_to_any() -> None:
    assert is_of_one_key(NoteLock(bar="1", beat=BEAT, finger=Finger.RING))
    assert is_of_one_key(PositionLock(WHOLE_BAR, 5))
    assert is_of_one_key(ShapeLock(WHOLE_BAR, OPEN_C))
    assert not is_of_one_key(NoBarreLock(WHOLE_BAR))
    assert not is_of_one_key(FreeFingerLock(WHOLE_BAR, Finger.RING))
    assert not is_of_one_key(AvoidFingerLock(Stretch(), Finger.LITTLE))
