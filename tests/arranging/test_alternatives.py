"""What else could be done with a note or a bar, each held against the piece arranged with it."""

from dataclasses import replace
from fractions import Fraction

import pytest

from apoyando.arranging import Alternative, arrange_in_key, weigh_note, weigh_positions
from apoyando.model.arrangement import Arrangement, Role
from apoyando.model.errors import UsageError
from apoyando.model.hand import Finger
from apoyando.model.instrument import Fret, StringNumber
from apoyando.model.locks import Lock, NoteLock, PositionLock, Stretch
from apoyando.model.plan import Plan
from apoyando.reading import load_default_levels, read_song

LEVEL = load_default_levels()["intermediate"]
SONG = read_song(
    b'X:1\nT:Over the Stile\nM:4/4\nL:1/8\nK:Am\n"Am"A2 B2 c3 B | "E7"B4 ^G4 | "F"A2 G2 F2 E2 | "Am"A8 |]\n',
    "stile.abc",
)
EACH_BAR_FOR_ITSELF = Plan(same_fingering=False)
TUNE = NoteLock(bar="1", beat=Fraction(2))
BASS = NoteLock(bar="2", beat=Fraction(1), voice=Role.BASS)
INNER = NoteLock(bar="3", beat=Fraction(7, 2), voice=Role.INNER)


def arrange(*locks: Lock) -> Arrangement:
    return arrange_in_key(SONG, replace(EACH_BAR_FOR_ITSELF, locks=locks), LEVEL, SONG.key)


def weigh(note: NoteLock, *locks: Lock) -> tuple[Alternative, ...]:
    return weigh_note(SONG, Plan(locks=locks), LEVEL, SONG.key, note)


@pytest.mark.parametrize("note", [TUNE, BASS, INNER], ids=str)
def test_a_price_is_what_the_piece_costs_more_with_the_lock_in_the_plan(note: NoteLock) -> None:
    now = arrange().search.price
    for each in weigh(note)[::3]:
        assert arrange(each.lock).search.price - now == each.price


@pytest.mark.parametrize("note", [TUNE, BASS, INNER], ids=str)
def test_the_cheapest_way_is_the_one_that_the_piece_has(note: NoteLock) -> None:
    best, *others = weigh(note)
    assert best.price == 0
    assert [each.price for each in others] == sorted(each.price for each in others)


def test_a_note_of_the_tune_keeps_its_pitch_on_every_string_that_has_it() -> None:
    """B4 lies at fret 7 of the first string, 12 of the second and 16 of the third."""
    places = {(each.lock.string, each.lock.fret) for each in weigh(TUNE) if isinstance(each.lock, NoteLock)}
    assert places == {(1, 7), (2, 12), (3, 16)}
    assert {str(each.pitch) for each in weigh(TUNE)} == {"B4"}


def test_an_open_string_has_no_finger_and_a_stopped_one_has_one() -> None:
    for each in weigh(TUNE):
        assert isinstance(each.lock, NoteLock)
        assert (each.lock.fret == 0) == (each.lock.finger is Finger.OPEN)


def test_a_bass_may_be_another_tone_of_its_chord_or_be_left_out() -> None:
    found = weigh(BASS)
    assert {str(each.pitch)[:-1] for each in found if each.pitch} <= {"E", "G#", "B", "D"}
    assert [each.pitch for each in found if isinstance(each.lock, NoteLock) and each.lock.is_silent] == [None]


def test_the_tune_is_never_left_out() -> None:
    assert not any(isinstance(each.lock, NoteLock) and each.lock.is_silent for each in weigh(TUNE))


def test_a_lock_on_the_same_note_is_let_go_and_the_others_are_kept() -> None:
    dear = replace(TUNE, string=StringNumber(3), fret=Fret(16), finger=Finger.LITTLE)
    other = replace(BASS, is_silent=True)
    prices = {each.lock: each.price for each in weigh(TUNE, dear, other)}
    assert prices[dear] == 0
    assert min(prices.values()) == arrange(other).search.price - arrange(dear, other).search.price < 0


def test_positions_of_a_bar_are_priced_alike() -> None:
    now = arrange().search.price
    found = weigh_positions(SONG, Plan(), LEVEL, SONG.key, "1")
    assert {each.lock for each in found} <= {PositionLock(Stretch(bar="1"), fret) for fret in range(1, 13)}
    assert len(found) > 3
    for each in found[:4]:
        assert arrange(each.lock).search.price - now == each.price


def test_what_is_not_there_is_told() -> None:
    with pytest.raises(UsageError, match="no note of the bass begins there"):
        weigh(replace(BASS, beat=Fraction(5, 4)))
    with pytest.raises(UsageError, match="there is no bar 99"):
        weigh_positions(SONG, Plan(), LEVEL, SONG.key, "99")


CHORDS = Plan(same_fingering=False, texture="block-chords")
TOGETHER = NoteLock(bar="2", beat=Fraction(2), voice=Role.INNER)


def inner_notes(arrangement: Arrangement, bar: str, onset: Fraction | int) -> list[tuple[int, int]]:
    """String and fret of the inner notes struck so many quarters into a bar, the lowest first."""
    (there,) = [each for each in arrangement.bars if each.number == bar]
    notes = [n for n in arrangement.voice(Role.INNER) if n.onset == there.onset + onset]
    return [(n.place.string, n.place.fret) for n in sorted(notes, key=lambda n: n.pitch.midi)]


def lock_at(place: tuple[int, int], note: NoteLock) -> NoteLock:
    return replace(note, string=StringNumber(place[0]), fret=Fret(place[1]))


def test_of_inner_notes_struck_together_each_is_weighed_while_the_other_stays() -> None:
    now = arrange_in_key(SONG, CHORDS, LEVEL, SONG.key)
    lower, upper = inner_notes(now, "2", 1)
    for kept, moved in ((lower, upper), (upper, lower)):
        beside = lock_at(kept, TOGETHER)
        found = weigh_note(SONG, CHORDS, LEVEL, SONG.key, TOGETHER, (beside,))
        locks = [(each.lock, each.price) for each in reversed(found) if isinstance(each.lock, NoteLock)]
        places: dict[object, int] = {(lock.string, lock.fret): price for lock, price in locks}
        assert kept not in places
        assert places[moved] == 0
        for each in found[::5]:
            settled = replace(CHORDS, locks=(beside, each.lock))
            piece = arrange_in_key(SONG, settled, LEVEL, SONG.key)
            assert piece.search.price - now.search.price == each.price
            assert kept in inner_notes(piece, "2", 1)


def test_one_of_two_inner_notes_is_left_out_and_the_other_is_struck() -> None:
    now = arrange_in_key(SONG, CHORDS, LEVEL, SONG.key)
    for kept in inner_notes(now, "2", 1):
        locks = (lock_at(kept, TOGETHER), replace(TOGETHER, is_silent=True))
        piece = arrange_in_key(SONG, replace(CHORDS, locks=locks), LEVEL, SONG.key)
        assert inner_notes(piece, "2", 1) == [kept]


def test_an_inner_note_is_weighed_and_struck_where_the_texture_has_none() -> None:
    bare = Plan(same_fingering=False, texture="bare")
    now = arrange_in_key(SONG, bare, LEVEL, SONG.key)
    new = NoteLock(bar="2", beat=Fraction(2), voice=Role.INNER)
    assert inner_notes(now, "2", 1) == []

    found = weigh_note(SONG, bare, LEVEL, SONG.key, new)
    assert found
    assert {str(each.pitch)[:-1] for each in found} <= {"E", "G#", "B", "D"}  # the tones of E7
    for each in found[:3]:
        piece = arrange_in_key(SONG, replace(bare, locks=(each.lock,)), LEVEL, SONG.key)
        assert isinstance(each.lock, NoteLock)
        assert inner_notes(piece, "2", 1) == [(each.lock.string, each.lock.fret)]
        assert piece.search.price - now.search.price == each.price
        others = [n for n in piece.notes if n.role is Role.INNER and n.onset != piece.bars[1].onset + 1]
        assert [n for n in now.notes if n.role is Role.INNER] == others


def test_an_inner_note_that_is_asked_for_must_be_a_tone_of_the_chord_under_the_tune() -> None:
    bare = Plan(
        texture="bare", locks=(lock_at((3, 1), NoteLock(bar="4", beat=Fraction(2), voice=Role.INNER)),)
    )
    with pytest.raises(UsageError, match="which is no tone of Am"):
        arrange_in_key(SONG, bare, LEVEL, SONG.key)
