"""The player's word is law: locks are kept, the rest goes around them, contradictions are explained.

That a lock is kept is looked up on the finished arrangement and in its MusicXML, by naive code
of the test's own.
"""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from fractions import Fraction
from itertools import combinations, permutations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from lxml import etree

from apoyando.arranging import (
    PosedSong,
    arrange_in_key,
    arrange_song,
    compare_keys,
    find_smallest_clash,
    lock_song,
    pose_in_key,
)
from apoyando.arranging.slices import build_problem
from apoyando.engraving import notate, write_musicxml
from apoyando.fingering import NoWayError, Problem, Solution, find_best_way
from apoyando.model.arrangement import Arrangement, Note, RelaxationStep, Role
from apoyando.model.errors import UsageError
from apoyando.model.hand import FINGERS, Finger
from apoyando.model.instrument import STRINGS, Fret, StringNumber
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
from apoyando.model.pitch import Key
from apoyando.model.plan import Plan
from apoyando.model.song import Bar, Song
from apoyando.model.time import Span
from apoyando.pipeline import make_piece
from apoyando.proofing import prove_arrangement
from apoyando.reading import load_default_levels, read_plan, read_song
from builders import change_bar
from strategies import locks, songs

LEVELS = load_default_levels()
INTERMEDIATE = LEVELS["intermediate"]
STILE = b"""X:1
T:Over the Stile
M:4/4
L:1/8
K:Am
"Am"A2 B2 c3 B | "E7"B4 ^G4 | "F"A2 G2 F2 E2 | "Am"A8 |]
"""
BRIDGE = b"""X:1
T:By the Bridge
M:6/8
L:1/8
K:F
C | "F"c3 A2 c | "Bb"d3 f2 d | "F"c3- c2 |]
"""
WALL = b"""X:1
T:Along the Wall
M:4/4
L:1/8
K:Fm
"Fm"c4 A4 | "Bbm"d4 f4 | "Fm"c4 a4 | "Fm"f8 |]
"""
STILE_SONG = read_song(STILE, "stile.abc")
BRIDGE_SONG = read_song(BRIDGE, "bridge.abc")
WALL_SONG = read_song(WALL, "wall.abc")


def bar(number: str, **more: Fraction | str) -> Stretch:
    return Stretch(bar=number, **more)  # type: ignore[arg-type] # the fields of a stretch


def note(number: str, beat: Fraction | int, voice: str = "melody", **way: int) -> NoteLock:
    return NoteLock(
        bar=number,
        beat=Fraction(beat),
        voice=Role(voice),
        string=StringNumber(way["string"]) if "string" in way else None,
        fret=Fret(way["fret"]) if "fret" in way else None,
        finger=Finger(way["finger"]) if "finger" in way else None,
    )


def silent(number: str, beat: Fraction | int, voice: str) -> NoteLock:
    return NoteLock(bar=number, beat=Fraction(beat), voice=Role(voice), is_silent=True)


def shape(stretch: Stretch, frets: str, fingers: str = "") -> ShapeLock:
    return ShapeLock(
        stretch,
        tuple(None if sign == "x" else Fret(int(sign)) for sign in frets),
        tuple(None if sign == "x" else Finger(int(sign)) for sign in fingers),
    )


def arrange(song: Song, *locks: Lock, **plan: object) -> Arrangement:
    return arrange_in_key(song, Plan(locks=locks, **plan), INTERMEDIATE, song.key)  # type: ignore[arg-type]


def pose(song: Song) -> PosedSong:
    return pose_in_key(song, Plan(), INTERMEDIATE, song.key)


def solve(problem: Problem, posed: PosedSong) -> Solution:
    """As the arranger does: without small barres, every span from where the note is."""
    setting = posed.setting
    level = replace(setting.level, small_barres=False, spans_from_nearest=False)
    return find_best_way(problem, tuning=setting.tuning, level=level, prices=setting.prices)


# What it means that a lock is kept, written afresh.


def moment_of(arrangement: Arrangement, number: str, beat: Fraction) -> Fraction:
    (there,) = [each for each in arrangement.bars if each.number == number]
    pulse = Fraction(3, 2) if there.meter.beat_unit == 8 else Fraction(4, there.meter.beat_unit)
    full = Fraction(4 * there.meter.beats, there.meter.beat_unit)
    late = full - there.duration if there.number == "0" else 0
    return there.onset - late + (beat - 1) * pulse


def span_of(arrangement: Arrangement, stretch: Stretch) -> Span:
    ends = {each.number: each.span for each in arrangement.bars}
    if not stretch.bar:
        return Span(Fraction(0), arrangement.bars[-1].offset)
    last = stretch.to_bar or stretch.bar
    onset, offset = ends[stretch.bar].onset, ends[last].offset
    if stretch.beat is not None:
        onset = moment_of(arrangement, stretch.bar, stretch.beat)
    if stretch.until_beat is not None:
        offset = moment_of(arrangement, last, stretch.until_beat)
    return Span(onset, offset)


def is_kept(arrangement: Arrangement, lock: Lock) -> bool:
    match lock:
        case NoteLock():
            onset = moment_of(arrangement, lock.bar, lock.beat)
            if lock.is_silent:
                return all(n.onset != onset for n in arrangement.voice(lock.voice))
            return any(
                n.onset == onset
                and lock.string in {None, n.place.string}
                and lock.fret in {None, n.place.fret}
                and lock.finger in {None, n.finger}
                for n in arrangement.voice(lock.voice)
            )
        case PositionLock():
            return all(
                position in {None, lock.position}
                for position in positions(arrangement, span_of(arrangement, lock.stretch))
            )
        case ShapeLock():
            return is_of_shape(arrangement, lock)
        case NoBarreLock():
            span = span_of(arrangement, lock.stretch)
            return not any(b.span.overlaps(span) for b in arrangement.barres)
        case FreeFingerLock() | AvoidFingerLock():
            span = span_of(arrangement, lock.stretch)
            return not any(n.finger is lock.finger and n.span.overlaps(span) for n in arrangement.notes)


def positions(arrangement: Arrangement, span: Span) -> Iterator[int | None]:
    """Where finger 1 lies, or would lie for the lowest finger down; None where none presses."""
    for moment in sorted({edge for n in arrangement.notes for edge in (n.onset, n.offset)}):
        down = [n for n in arrangement.notes if n.span.contains(moment) and n.finger > 0]
        if span.contains(moment):
            yield max(min((n.finger, n.place.fret - n.finger + 1) for n in down)[1], 1) if down else None


def is_of_shape(arrangement: Arrangement, lock: ShapeLock) -> bool:
    """Strings and frets, read from string 6 to string 1."""
    span = span_of(arrangement, lock.stretch)
    struck = [n for n in arrangement.notes if span.contains(n.onset)]
    sounding = {arrangement.tuning.note_at(place) for place, _ in lock.stops}
    return all(
        lock.frets[6 - n.place.string] == n.place.fret
        and (not lock.fingers or lock.fingers[6 - n.place.string] == n.finger)
        for n in struck
        if n.role is not Role.MELODY or n.pitch.midi in sounding
    )


KINDS: list[tuple[Song, Lock]] = [
    (STILE_SONG, note("1", 1, string=2)),
    (STILE_SONG, note("1", 1, fret=14)),
    (STILE_SONG, note("1", Fraction(9, 2), string=2, finger=1)),
    (STILE_SONG, note("2", 1, "bass", string=4, fret=6, finger=1)),
    (STILE_SONG, note("1", Fraction(5, 2), "inner", string=4, fret=7)),
    (STILE_SONG, note("3", Fraction(7, 2), "inner", finger=4)),
    (STILE_SONG, silent("3", Fraction(7, 2), "inner")),
    (STILE_SONG, silent("2", 1, "bass")),
    (STILE_SONG, PositionLock(bar("2"), 7)),
    (STILE_SONG, PositionLock(bar("3", beat=Fraction(3)), 9)),
    (STILE_SONG, shape(bar("4"), "577555", "134111")),
    (STILE_SONG, shape(bar("2", beat=Fraction(1), until_beat=Fraction(3)), "022100")),
    (STILE_SONG, FreeFingerLock(bar("3"), Finger.INDEX)),
    (STILE_SONG, AvoidFingerLock(Stretch(), Finger.RING)),
    (STILE_SONG, AvoidFingerLock(bar("1", to_bar="3"), Finger.MIDDLE)),
    (WALL_SONG, NoBarreLock(Stretch())),
    (WALL_SONG, NoBarreLock(bar("1", to_bar="2"))),
    (BRIDGE_SONG, note("0", Fraction(8, 3), string=6)),
    (BRIDGE_SONG, note("1", 2, fret=7)),
]
"""Locks of every kind, each on something that the program does otherwise by itself."""


@pytest.mark.parametrize(
    ("song", "lock"), KINDS, ids=lambda value: str(value) if not isinstance(value, Song) else ""
)
def test_a_lock_is_kept_that_would_not_have_been_kept_without_it(song: Song, lock: Lock) -> None:
    assert not is_kept(arrange(song), lock)

    locked = arrange(song, lock)
    assert is_kept(locked, lock)
    assert prove_arrangement(locked, song, INTERMEDIATE, 1.0).is_proven
    assert locked.search.is_optimal


def technical(arrangement: Arrangement) -> Iterator[tuple[str, Fraction, int, int, int]]:
    """Bar, moment in the bar in quarters, string, fret and finger of every note of the MusicXML."""
    score = etree.fromstring(write_musicxml(notate(arrangement)))
    divisions = Fraction(score.findtext(".//divisions"))
    for measure in score.iter("measure"):
        now = before = Fraction(0)
        for element in measure:
            length = Fraction(element.findtext("duration") or 0) / divisions
            if element.tag == "note":
                now = before if element.find("chord") is not None else now
                if element.find(".//technical/string") is not None:
                    names = ("string", "fret", "fingering")
                    string, fret, finger = (int(element.findtext(f".//technical/{name}")) for name in names)
                    yield measure.get("number"), now, string, fret, finger
                before, now = now, now + length
            elif element.tag in {"backup", "forward"}:
                now += length if element.tag == "forward" else -length


def test_the_musicxml_has_the_string_fret_and_finger_that_were_locked() -> None:
    locks = (note("1", 1, string=2, finger=4), note("2", 1, "bass", string=4, fret=6, finger=1))
    written = set(technical(arrange(STILE_SONG, *locks)))

    assert ("1", Fraction(0), 2, 10, 4) in written
    assert ("2", Fraction(0), 4, 6, 1) in written


def test_the_musicxml_never_shows_a_finger_that_is_to_be_avoided() -> None:
    assert 3 in {finger for *_, finger in technical(arrange(STILE_SONG))}
    assert 3 not in {
        finger for *_, finger in technical(arrange(STILE_SONG, AvoidFingerLock(Stretch(), Finger.RING)))
    }


def test_the_musicxml_has_the_accompaniment_in_the_chord_shape() -> None:
    """The melody's A4 is in the shape as well, so that every note of the bar is."""
    lock = shape(bar("4"), "577555", "134111")
    places = {
        (string, fret, finger)
        for number, _, string, fret, finger in technical(arrange(STILE_SONG, lock))
        if number == "4"
    }

    assert places <= {(6, 5, 1), (5, 7, 3), (4, 7, 4), (3, 5, 1), (2, 5, 1), (1, 5, 1)}
    assert len(places) > 2


def test_with_a_capo_strings_and_frets_are_those_of_the_page() -> None:
    lock = note("1", 1, string=2, fret=10)
    assert is_kept(arrange(STILE_SONG, lock, capo=3), lock)


@pytest.mark.parametrize(
    "lock", [note("1", 1, string=3, fret=14), PositionLock(bar("1"), 14), shape(bar("4"), "xx9xxx")]
)
def test_a_fret_that_the_capo_leaves_no_room_for_is_refused(lock: Lock) -> None:
    """A full-size guitar has 19 frets (common practice, no source): 12 above a capo at 7, 8 above one at 11."""
    capo = 11 if isinstance(lock, ShapeLock) else 7
    with pytest.raises(UsageError, match=f"with the capo at fret {capo} the last fret is {19 - capo}"):
        arrange(STILE_SONG, lock, capo=capo)


# The rest is solved around them.


def as_played(arrangement: Arrangement, played: Note) -> NoteLock:
    (there,) = [each for each in arrangement.bars if each.span.contains(played.onset)]
    return NoteLock(
        bar=there.number,
        beat=(played.onset - there.onset + there.meter_phase) / there.meter.pulse + 1,
        voice=played.role,
        string=played.place.string,
        fret=played.place.fret,
        finger=played.finger,
    )


@settings(max_examples=15, deadline=None)
@given(songs(most_bars=2))
def test_locks_on_what_the_program_has_chosen_anyhow_cost_nothing(song: Song) -> None:
    """Of two ways that cost the same either may be taken. Stretches are not asked to be alike, so both are optima."""
    free = arrange(song, same_fingering=False)
    chosen = [as_played(free, each) for each in free.notes]
    again = arrange(song, *chosen, same_fingering=False)
    assert free.search.is_optimal
    assert again.search == free.search
    assert all(is_kept(again, lock) for lock in chosen)


@settings(max_examples=25, deadline=None)
@given(songs(most_bars=2), st.data())
def test_any_place_and_finger_for_any_melody_notes_can_be_kept(song: Song, data: st.DataObject) -> None:
    """The melody alone can always be played, and the accompaniment gives way."""
    free = arrange(song)
    locks = []
    for played in data.draw(st.lists(st.sampled_from(free.voice(Role.MELODY)), max_size=3, unique=True)):
        place = data.draw(st.sampled_from(free.tuning.places(played.pitch.midi)))
        finger = Finger.OPEN if place.is_open else data.draw(st.sampled_from(FINGERS))
        locks.append(as_played(free, replace(played, place=place, finger=finger)))
    locked = arrange(song, *locks)

    assert all(is_kept(locked, lock) for lock in locks)
    assert locked.search.price >= free.search.price
    assert prove_arrangement(locked, song, INTERMEDIATE, 1.0).is_proven


@settings(max_examples=25, deadline=None)
@given(songs(most_bars=2), st.data())
def test_what_may_be_in_the_accompaniment_can_be_locked_there_and_is_then_struck(
    song: Song, data: st.DataObject
) -> None:
    posed = pose(song)
    dues = [(Role.BASS, *each) for each in posed.plot.bass] + [
        (Role.INNER, *each) for each in posed.plot.inner
    ]
    if not dues:
        return
    voice, due, candidates = data.draw(st.sampled_from(dues))
    midi = data.draw(st.sampled_from(candidates)).note
    place = data.draw(st.sampled_from(posed.setting.tuning.places(midi, highest_fret=9)))
    (there,) = [each for each in song.bars if each.span.contains(due.span.onset)]
    beat = (due.span.onset - there.onset + there.meter_phase) / there.meter.pulse + 1
    lock = note(there.number, beat, voice, string=place.string, fret=place.fret)
    if is_possible(posed, (lock,)):
        locked = arrange(song, lock)
        assert is_kept(locked, lock)
        assert prove_arrangement(locked, song, INTERMEDIATE, 1.0).is_proven
    else:
        with pytest.raises(UsageError, match="cannot be kept"):
            arrange(song, lock)


def test_the_order_of_the_locks_does_not_matter() -> None:
    locks: tuple[Lock, ...] = (
        note("2", 1, "bass", string=4, fret=6),
        shape(bar("2"), "0x6700"),
        NoBarreLock(bar("4")),
        AvoidFingerLock(Stretch(), Finger.LITTLE),
    )
    (first, *others) = [arrange(STILE_SONG, *order) for order in list(permutations(locks))[::5]]
    assert all(other.notes == first.notes and other.search == first.search for other in others)


def test_only_the_slices_that_a_lock_touches_are_posed_anew() -> None:
    """The note's own, and the next: the voice steps on from it."""
    posed = pose(STILE_SONG)
    lock = note("2", 1, "bass", string=6, fret=0)
    locked = lock_song(posed, (lock,))
    onsets = [
        slice_.span.onset
        for slice_, before, after in zip(
            posed.slices, posed.problem.slices, locked.problem.slices, strict=True
        )
        if before is not after
    ]
    assert onsets[0] == 4
    assert onsets[-1] == 6
    assert lock_song(posed, ()) is posed


@pytest.mark.parametrize(
    ("song", "lock"), KINDS, ids=lambda value: str(value) if not isinstance(value, Song) else ""
)
def test_what_is_posed_anew_is_as_if_all_were_posed_at_once(song: Song, lock: Lock) -> None:
    locked = lock_song(pose(song), (lock,))
    whole = build_problem(locked.plot, locked.slices, locked.setting)
    assert [replace(each, restriction=whole.slices[0].restriction) for each in locked.problem.slices] == list(
        whole.slices
    )


def test_a_bass_that_cannot_be_struck_from_a_shape_is_left_out_paid_for_and_explained() -> None:
    lock = shape(bar("4"), "xxx555")
    free, locked = arrange(STILE_SONG), arrange(STILE_SONG, lock)
    (dropped, *_) = [r for r in locked.relaxations if r.step is RelaxationStep.BASS_DROPPED]

    assert [n for n in locked.voice(Role.BASS) if n.onset >= 12] == []
    assert dropped.bar == "4"
    assert dropped.reason.endswith("(locked: bar 4: the chord shape xxx555)")
    assert locked.search.price > free.search.price


def test_an_inner_note_that_the_player_leaves_out_is_listed_with_the_player_s_word() -> None:
    locked = arrange(STILE_SONG, silent("3", Fraction(7, 2), "inner"))
    (dropped,) = [r for r in locked.relaxations if r.step is RelaxationStep.INNER_DROPPED]
    assert dropped.reason.endswith("(locked: bar 3, beat 3½: the inner voice left out)")


def test_a_note_that_is_to_be_struck_and_left_out_is_a_clash() -> None:
    with pytest.raises(UsageError, match="These 2 locks cannot be kept together"):
        arrange(STILE_SONG, silent("2", 1, "bass"), note("2", 1, "bass", string=4))


def test_a_note_that_is_left_out_is_so_in_every_key() -> None:
    song, plan = STILE_SONG, Plan(locks=(silent("3", Fraction(7, 2), "inner"),))
    assert is_kept(arrange_song(song, plan, INTERMEDIATE), plan.locks[0])


def test_a_lock_on_a_fret_goes_over_the_level_and_one_on_a_string_does_not() -> None:
    """Intermediate accompaniment ends at fret 7; D3 lies on string 6 at fret 10."""
    song = read_song(STILE.replace(b'"Am"A8', b'"Dm"A8'), "stile.abc")
    lock = note("4", 1, "bass", string=6, fret=10)
    assert is_kept(arrange(song, lock), lock)
    high = note("4", 1, "bass", string=4, fret=12)
    assert is_kept(arrange(song, high), high)
    with pytest.raises(UsageError, match="up to fret 7, and none of them lies so"):
        arrange(song, note("4", 1, "bass", string=2))


def test_in_a_locked_position_all_four_fingers_may_press_whatever_the_level() -> None:
    lock = PositionLock(bar("3"), 9)
    notes = arrange(STILE_SONG, lock).voice(Role.BASS, Role.INNER)
    frets = [note.place.fret for note in notes if 8 <= note.onset < 12]
    assert max(frets) > INTERMEDIATE.accompaniment_highest_fret


# What is not there.


@pytest.mark.parametrize(
    ("lock", "message"),
    [
        (
            note("9", 1, string=2),
            r'The lock "bar 9, beat 1: the melody on string 2" .* there is no bar 9; .* 1 to 4',
        ),
        (PositionLock(bar("1", to_bar="7"), 5), "there is no bar 7"),
        (note("1", 5, string=2), "bar 1 begins at beat 1 and is over at beat 5"),
        (
            note("1", Fraction(3, 2), string=2),
            r"begins there; .* on beats 1 \(A4\), 2 \(B4\), 3 \(C5\), 4½ \(B4\)",
        ),
        (
            note("1", 2, "bass", string=6),
            "no note of the bass begins there; in bar 1 they may begin on beats 1, 3",
        ),
        (note("1", 1, string=5), "the melody has A4 there, which lies on string 1 fret 5, string 2 fret 10"),
        (note("1", 1, string=4, fret=6), "the melody has A4 there"),
        (note("1", 1, finger=0), "the melody has A4 there, .*; finger 0 is for an open string only"),
        (
            note("1", 1, "bass", string=6, fret=1),
            r"string 6 fret 1 gives F2, which is no tone of Am \(A, C, E\)",
        ),
        (note("1", 1, "bass", string=1, fret=5), "gives A4, which is not below the melody's A4"),
        (note("1", 1, "bass", string=1), "over Am the bass may take .*, and none of them lies so"),
        (shape(bar("1"), "x1133x"), "it sounds Bb2, Eb3, Bb3, D4, and none of them .* under the melody"),
        (shape(bar("1", beat=Fraction(2), until_beat=Fraction(2)), "577555"), "it ends before it begins"),
        (NoBarreLock(bar("3", to_bar="2")), "it ends before it begins"),
    ],
)
def test_a_lock_on_what_is_not_there_is_refused_with_what_is(lock: Lock, message: str) -> None:
    with pytest.raises(UsageError, match=message):
        arrange(STILE_SONG, lock)


def test_a_bar_number_that_is_printed_twice_means_neither() -> None:
    twice = replace(STILE_SONG, bars=change_bar(STILE_SONG.bars, 2, number="2"))
    with pytest.raises(UsageError, match="2 bars are numbered 2; give them numbers of their own"):
        arrange(twice, note("2", 1, string=3))


def test_a_pickup_has_no_accompaniment_to_be_locked() -> None:
    with pytest.raises(UsageError, match=r"no note of the bass begins in bar 0\."):
        arrange(BRIDGE_SONG, note("0", Fraction(8, 3), "bass", string=6))


@settings(max_examples=60, deadline=None)
@given(songs(most_bars=2), st.lists(locks, min_size=1, max_size=3, unique=True), st.data())
def test_any_locks_are_kept_or_refused_in_words(song: Song, wild: list[Lock], data: st.DataObject) -> None:
    numbers = st.sampled_from([each.number for each in song.bars])
    tamed = [on_bars(lock, data.draw(numbers), data.draw(numbers)) for lock in wild]
    try:
        locked = arrange(song, *tamed)
    except UsageError as error:
        told = str(error)
        assert any(f'"{lock}"' in told for lock in tamed), told
    else:
        assert all(is_kept(locked, lock) for lock in tamed)
        assert prove_arrangement(locked, song, INTERMEDIATE, 1.0).is_proven


def on_bars(lock: Lock, number: str, last: str) -> Lock:
    """The same lock on bars that there are."""
    if isinstance(lock, NoteLock):
        return replace(lock, bar=number)
    if not lock.stretch.bar:
        return lock
    stretch = replace(lock.stretch, bar=number, to_bar=last if lock.stretch.to_bar else "")
    return replace(lock, stretch=stretch)


# Keys.


@pytest.mark.parametrize(
    "lock", [note("1", 1, string=2), PositionLock(bar("1"), 5), shape(bar("4"), "577555")]
)
def test_locks_of_one_key_need_the_plan_s_key(lock: Lock) -> None:
    with pytest.raises(UsageError, match=r'belongs to one key, and the plan names none.*key = "A"'):
        arrange_song(STILE_SONG, Plan(locks=(lock,)), INTERMEDIATE)


def test_locks_of_one_page_need_the_plan_s_tuning() -> None:
    plan = Plan(key="A", tuning="", locks=(note("1", 1, string=2),))
    with pytest.raises(
        UsageError, match=r'belongs to one tuning, and the plan names none.*tuning = "standard"'
    ):
        arrange_song(STILE_SONG, plan, INTERMEDIATE)


def test_locks_on_fingers_and_barres_hold_in_every_key_and_the_others_are_left_aside() -> None:
    locks = (NoBarreLock(Stretch()), AvoidFingerLock(Stretch(), Finger.LITTLE))
    plan = Plan(locks=(note("1", 1, string=5), *locks))
    compared = compare_keys(BRIDGE_SONG, plan, INTERMEDIATE, look=str)
    assert len(compared) == 12
    assert all(is_kept(each.arrangement, lock) for each in compared for lock in locks)
    assert arrange_song(BRIDGE_SONG, Plan(locks=locks), INTERMEDIATE) in [
        each.arrangement for each in compared
    ]


def test_the_plan_that_is_written_keeps_the_locks_and_makes_the_same_page_again() -> None:
    plan = Plan(key="A", locks=(note("1", 1, string=2), NoBarreLock(Stretch())))
    piece = make_piece(STILE, "stile.abc", plan, LEVELS)
    written = read_plan(piece.outputs[".plan.toml"].decode(), "stile.plan.toml")

    assert written.locks == plan.locks
    assert piece.report["locks"] == [str(lock) for lock in plan.locks]
    assert make_piece(STILE, "stile.abc", written, LEVELS).outputs == piece.outputs


# Contradictions.

ON_STRING_2, WITH_FINGER_4 = note("1", 1, string=2), note("1", 1, finger=4)
NO_LITTLE_FINGER = AvoidFingerLock(Stretch(), Finger.LITTLE)


@pytest.mark.parametrize(
    ("clash", "beside"),
    [
        ((WITH_FINGER_4, NO_LITTLE_FINGER), (NoBarreLock(Stretch()), note("3", 1, string=2))),
        ((ON_STRING_2, PositionLock(bar("1"), 5)), (FreeFingerLock(bar("2"), Finger.RING),)),
        ((ON_STRING_2, note("1", 1, string=3)), (WITH_FINGER_4,)),
        (
            (PositionLock(bar("3", to_bar="4"), 5), PositionLock(bar("3"), 7)),
            (FreeFingerLock(bar("2"), Finger.RING),),
        ),
        (
            (note("2", 1, "bass", string=6, fret=0), note("2", 1, "bass", string=5, fret=7)),
            (NO_LITTLE_FINGER,),
        ),
        ((note("4", 1, "bass", string=4, fret=7), shape(bar("4"), "x02210")), (PositionLock(bar("2"), 7),)),
        ((PositionLock(bar("4"), 1),), (NO_LITTLE_FINGER, NoBarreLock(bar("4")))),
        (tuple(FreeFingerLock(bar("1"), finger) for finger in FINGERS), (NoBarreLock(Stretch()),)),
        (
            (note("3", 1, "bass", string=6, fret=5), note("3", 1, string=3)),
            (note("1", 1, string=2), NoBarreLock(bar("4"))),
        ),
    ],
    ids=str,
)
def test_the_fewest_locks_that_clash_are_named(clash: tuple[Lock, ...], beside: tuple[Lock, ...]) -> None:
    with pytest.raises(UsageError) as told:
        arrange(STILE_SONG, *beside, *clash)

    assert all(f'"{lock}"' in str(told.value) for lock in clash)
    assert not any(f'"{lock}"' in str(told.value) for lock in beside)


def test_one_lock_that_no_hand_can_keep_is_told_with_the_level() -> None:
    with pytest.raises(
        UsageError, match=r'^The lock "bar 4: in position I" cannot be kept: at the level intermediate'
    ):
        arrange(STILE_SONG, PositionLock(bar("4"), 1))


def is_possible(posed: PosedSong, locks: Sequence[Lock]) -> bool:
    """Asked of the whole song, not of a stretch of it."""
    try:
        solve(lock_song(posed, locks).problem, posed)
    except NoWayError:
        return False
    return True


def contrary_locks(posed: PosedSong) -> st.SearchStrategy[Lock]:
    """Locks that speak of few things, so that they often clash."""
    first, *_ = [each for each in posed.song.bars if not each.is_pickup]
    where = st.sampled_from((Stretch(), bar(first.number)))
    fingers = st.sampled_from((Finger.INDEX, Finger.MIDDLE))
    on_melody = [
        as_played_at(
            first, note_.onset, string=string, fret=note_.pitch.midi - posed.setting.tuning.open_note(string)
        )
        for note_ in posed.plot.melody
        if first.span.contains(note_.onset)
        for string in STRINGS
        if 0 <= note_.pitch.midi - posed.setting.tuning.open_note(string) <= 12
    ]
    with_finger = [
        replace(lock, string=None, fret=None, finger=Finger.INDEX) for lock in on_melody if lock.fret
    ]
    return st.one_of(
        st.builds(AvoidFingerLock, where, fingers),
        st.builds(FreeFingerLock, where, st.sampled_from((Finger.RING, Finger.LITTLE))),
        st.builds(PositionLock, st.just(bar(first.number)), st.sampled_from((1, 5, 7))),
        *([st.sampled_from(on_melody)] if on_melody else []),
        *([st.sampled_from(with_finger)] if with_finger else []),
    )


def as_played_at(there: Bar, onset: Fraction, string: int, fret: int) -> NoteLock:
    return note(there.number, (onset - there.onset) / there.meter.pulse + 1, string=string, fret=fret)


@settings(max_examples=30, deadline=None)
@given(songs(most_bars=2), st.data())
def test_the_locks_that_are_named_clash_and_no_smaller_set_does(song: Song, data: st.DataObject) -> None:
    """Every smaller set is tried on the whole song, whether it lies in the clash or not."""
    posed = pose(song)
    locks = data.draw(st.lists(contrary_locks(posed), min_size=2, max_size=4, unique=True))
    clash = find_smallest_clash(posed, locks, lambda problem: solve(problem, posed))

    assert is_possible(posed, locks) == (not clash)
    if clash:
        assert not is_possible(posed, clash)
        for size in range(len(clash)):
            assert all(is_possible(posed, fewer) for fewer in combinations(locks, size))


def test_a_key_is_a_place_where_the_locks_are_read_again() -> None:
    """The same lock means another note elsewhere, and is refused there if it is not to be had."""
    plan = Plan(locks=(note("1", 1, string=2, fret=10),))
    assert is_kept(arrange_in_key(STILE_SONG, plan, INTERMEDIATE, STILE_SONG.key), plan.locks[0])
    with pytest.raises(UsageError, match=r"the melody has B\d there"):
        arrange_in_key(STILE_SONG, plan, INTERMEDIATE, Key(2, STILE_SONG.key.mode))
