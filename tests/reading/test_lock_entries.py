"""The ``[[locks]]`` of a plan file: what may stand there, and how a bad one is answered."""

import re
from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from apoyando.model.arrangement import Role
from apoyando.model.errors import UsageError
from apoyando.model.hand import Finger
from apoyando.model.instrument import Fret, StringNumber
from apoyando.model.locks import (
    AvoidFingerLock,
    FreeFingerLock,
    Lock,
    NoBarreLock,
    NoteLock,
    PositionLock,
    ShapeLock,
    Stretch,
)
from apoyando.model.plan import Plan
from apoyando.reading import read_plan, write_plan
from strategies import locks

OPEN_C = tuple(None if fret is None else Fret(fret) for fret in (None, 3, 2, 0, 1, 0))
C_FINGERS = tuple(None if finger is None else Finger(finger) for finger in (None, 3, 2, 0, 1, 0))
MELODY = NoteLock(bar="3", beat=Fraction(1), string=StringNumber(2))


def read_lock(text: str) -> Lock:
    (lock,) = read_plan(f"[[locks]]\n{text}", "song.plan.toml").locks
    return lock


@given(st.lists(locks, max_size=6).map(tuple))
def test_written_locks_are_read_back_as_they_were_and_in_their_order(given_locks: tuple[Lock, ...]) -> None:
    assert read_plan(write_plan(Plan(locks=given_locks)), "song.plan.toml").locks == given_locks


@pytest.mark.parametrize(
    ("text", "lock"),
    [
        ("bar = 3\nbeat = 1\nstring = 2", MELODY),
        ('bar = "3"\nbeat = "1"\nvoice = "melody"\nstring = 2', MELODY),
        ("bar = 3\nbeat = 2.5\nstring = 2", replace(MELODY, beat=Fraction(5, 2))),
        ('bar = 3\nbeat = "7/3"\nstring = 2', replace(MELODY, beat=Fraction(7, 3))),
        ('bar = 3\nbeat = "2½"\nstring = 2', replace(MELODY, beat=Fraction(5, 2))),
        (
            'bar = 0\nbeat = 4\nvoice = "bass"\nstring = 6\nfret = 3\nfinger = 2',
            NoteLock(
                bar="0",
                beat=Fraction(4),
                voice=Role.BASS,
                string=StringNumber(6),
                fret=Fret(3),
                finger=Finger.MIDDLE,
            ),
        ),
        (
            'bar = 1\nbeat = 1\nvoice = "inner"\nfret = 0\nfinger = 0',
            NoteLock(bar="1", beat=Fraction(1), voice=Role.INNER, fret=Fret(0), finger=Finger.OPEN),
        ),
        (
            'bar = 2\nbeat = 3\nvoice = "inner"\nsilent = true',
            NoteLock(bar="2", beat=Fraction(3), voice=Role.INNER, is_silent=True),
        ),
        ('bar = "12b"\nposition = "V"', PositionLock(Stretch(bar="12b"), 5)),
        ("bar = 3\nto_bar = 4\nposition = 7", PositionLock(Stretch(bar="3", to_bar="4"), 7)),
        ('bar = 3\nshape = "x32010"', ShapeLock(Stretch(bar="3"), OPEN_C)),
        ('bar = 3\nshape = "X 3 2 0 1 0"', ShapeLock(Stretch(bar="3"), OPEN_C)),
        ('bar = 3\nshape = "x32010"\nfingers = "x32010"', ShapeLock(Stretch(bar="3"), OPEN_C, C_FINGERS)),
        (
            'bar = 3\nbeat = 1\nuntil_beat = 3\nshape = "x 10 12 12 12 10"',
            ShapeLock(
                Stretch(bar="3", beat=Fraction(1), until_beat=Fraction(3)),
                (None, Fret(10), Fret(12), Fret(12), Fret(12), Fret(10)),
            ),
        ),
        ("barre = false", NoBarreLock(Stretch())),
        ("bar = 3\nbarre = false", NoBarreLock(Stretch(bar="3"))),
        ("bar = 3\nfree_finger = 3", FreeFingerLock(Stretch(bar="3"), Finger.RING)),
        ("avoid_finger = 4", AvoidFingerLock(Stretch(), Finger.LITTLE)),
        (
            "bar = 3\nto_bar = 9\navoid_finger = 4",
            AvoidFingerLock(Stretch(bar="3", to_bar="9"), Finger.LITTLE),
        ),
    ],
)
def test_each_kind_of_lock_is_read(text: str, lock: Lock) -> None:
    assert read_lock(text) == lock


BAD = [
    (
        "bar = 3\nbeat = 1",
        r"lock 1 \(bar 3\): the lock does not say what holds\. Write string, fret, finger or silent",
    ),
    ("beat = 1\nstring = 2", "lock 1: the entry bar is missing"),
    ("bar = 3\nstring = 2", r"lock 1 \(bar 3\): the entry beat is missing"),
    ("bar = 3\nbeat = 0\nstring = 2", r"lock 1 \(bar 3\): beat = 0 .* counted from 1"),
    ('bar = 3\nbeat = "one"\nstring = 2', 'beat = "one"'),
    ('bar = 3\nbeat = "1e999999999"\nstring = 2', "beat = "),
    ("bar = 3\nbeat = true\nstring = 2", "beat = true"),
    ("bar = 3\nbeat = nan\nstring = 2", "beat = nan"),
    ('bar = ""\nbeat = 1\nstring = 2', 'bar = "" .* as it is printed'),
    ("bar = 1.5\nbeat = 1\nstring = 2", "bar = 1.5"),
    ("bar = 3\nbeat = 1\nstring = 0", "string = 0 .* from 1 to 6"),
    ("bar = 3\nbeat = 1\nstring = 7", "string = 7 .* from 1 to 6"),
    ("bar = 3\nbeat = 1\nfret = 20", "fret = 20 .* from 0 to 19"),
    ("bar = 3\nbeat = 1\nfinger = 5", "finger = 5 .* from 0 to 4"),
    ("bar = 3\nbeat = 1\nfret = 0\nfinger = 1", "finger = 1 .* 0 is for the open string"),
    ("bar = 3\nbeat = 1\nfret = 1\nfinger = 0", "finger = 0 .* 0 is for the open string"),
    ('bar = 3\nbeat = 1\nstring = 2\nvoice = "tenor"', 'voice = "tenor" .* melody, bass, inner'),
    ("bar = 3\nbeat = 1\nstrings = 2", "the lock does not say what holds"),
    ("bar = 3\nbeat = 1\nstring = 2\nfrets = 2", r"there is no entry frets \(here 2\)"),
    ("bar = 3\nto_bar = 4\nbeat = 1\nstring = 2", "there is no entry to_bar"),
    ('position = "V"', "lock 1: the entry bar is missing, and position needs it"),
    ('bar = 3\nposition = "IIX"', r'position = "IIX" .* "V" or 5'),
    ("bar = 3\nposition = 0", "position = 0 .* from 1 to 19"),
    ('shape = "x32010"', "the entry bar is missing, and shape needs it"),
    ('bar = 3\nshape = "x3201"', 'shape = "x3201" .* six frets from string 6 to string 1'),
    ('bar = 3\nshape = "xxxxxx"', 'shape = "xxxxxx" .* at least one string'),
    ('bar = 3\nshape = "x 20 2 0 1 0"', 'shape = "x 20 2 0 1 0" .* up to 19'),
    ('bar = 3\nshape = "x3201²"', "shape = "),
    ("bar = 3\nshape = 332010", "shape = 332010 "),
    ('bar = 3\nfingers = "x32010"', "the lock does not say what holds"),
    (
        'bar = 3\nshape = "x32010"\nfingers = "x3201x"',
        "fingers = .* write x exactly where the shape x32010 has it",
    ),
    ('bar = 3\nshape = "x32010"\nfingers = "x32011"', "fingers = .* write 0 exactly where"),
    ('bar = 3\nshape = "x32010"\nfingers = "x33010"', "fingers = .* finger 3 cannot lie at two frets"),
    ('bar = 3\nshape = "x32010"\nfingers = "x52010"', "fingers = .* six fingers .* up to 4"),
    ("bar = 3\nbeat = 1\nsilent = true", "silent = true .* the tune stays"),
    ('bar = 3\nbeat = 1\nvoice = "bass"\nsilent = false', "silent = false .* only true"),
    ('bar = 3\nbeat = 1\nvoice = "bass"\nsilent = true\nfret = 3', "fret = 3 .* left out has none"),
    ("bar = 3\nbarre = true", "barre = true .* only false"),
    ("bar = 3\nbarre = 0", "barre = 0 .* true or false"),
    ("to_bar = 3\nbarre = false", "the entry bar is missing, and barre needs it"),
    ("bar = 3\nfree_finger = 0", "free_finger = 0 .* from 1 to 4"),
    ("avoid_finger = 5", "avoid_finger = 5 .* from 1 to 4"),
    ("bar = 3\nbeat = 3\nuntil_beat = 3\nbarre = false", "until_beat = 3 .* after the beat it begins at"),
    ("bar = 3\nuntil_beat = 1\nbarre = false", "until_beat = 1 .* after"),
    ("bar = 3\nbarre = false\navoid_finger = 4", "barre and avoid_finger in one lock"),
    ("bar = 3\nbeat = 1\nstring = 2\nbarre = false", "barre and string in one lock"),
]


@pytest.mark.parametrize(("text", "message"), BAD)
def test_a_bad_lock_is_named_with_what_is_wrong_and_what_would_be_right(text: str, message: str) -> None:
    with pytest.raises(UsageError, match=message):
        read_lock(text)


def test_a_bad_lock_is_named_by_its_number_in_the_file() -> None:
    text = "[[locks]]\navoid_finger = 4\n[[locks]]\nbar = 7\nfree_finger = 9"
    with pytest.raises(UsageError, match=re.escape("song.plan.toml, lock 2 (bar 7): free_finger = 9")):
        read_plan(text, "song.plan.toml")


@pytest.mark.parametrize("text", ["locks = 3", 'locks = "none"', "locks = [1]", "[locks]\nbar = 3"])
def test_locks_are_tables_under_two_brackets(text: str) -> None:
    with pytest.raises(UsageError, match="lock"):
        read_plan(text, "song.plan.toml")


@pytest.mark.parametrize(
    "lock",
    [
        PositionLock(Stretch(bar="3"), 40),
        PositionLock(Stretch(), 3),
        NoteLock(bar="3", beat=Fraction(1)),
        NoteLock(bar="3", beat=Fraction(12345), finger=Finger.RING),
        NoBarreLock(Stretch(to_bar="3")),
    ],
)
def test_a_lock_that_could_not_be_read_back_is_never_written(lock: Lock) -> None:
    with pytest.raises(UsageError, match="lock 1"):
        write_plan(Plan(locks=(lock,)))
