"""The search finds the optimum of the stated price: against a plain search, by listing."""

from collections.abc import Callable
from dataclasses import replace

from hypothesis import given, settings
from hypothesis import strategies as st

from apoyando.fingering import (
    FORBIDDEN,
    SILENT,
    UNRESTRICTED,
    Candidate,
    ChosenSlice,
    Interplay,
    NoWayError,
    Problem,
    Restriction,
    Slice,
    Succession,
    VoiceSlice,
    find_best_way,
)
from apoyando.model.hand import Finger
from apoyando.model.instrument import STANDARD_TUNING, Place
from apoyando.model.pitch import MidiNote
from apoyando.model.prices import Prices
from apoyando.reading.level_table import load_default_levels
from references.plain_search import World, plain_best_price

LEVELS = load_default_levels()
INTERMEDIATE = LEVELS["intermediate"]
PRICES = Prices()


def best_price(problem: Problem, level_name: str = "intermediate", hand_size: float = 1.0) -> int:
    level = LEVELS[level_name]
    return find_best_way(
        problem, tuning=STANDARD_TUNING, level=level, prices=PRICES, hand_size=hand_size
    ).price


def note(midi: int, price: int = 0, highest_fret: int = 5, fills: int = 0) -> Candidate:
    return Candidate(MidiNote(midi), price, fills, highest_fret)


def struck(
    *candidates: Candidate, none_price: int | None = None, release_price: int | None = None
) -> VoiceSlice:
    return VoiceSlice(
        candidates=candidates, is_struck=True, none_price=none_price, release_price=release_price
    )


def held(role: VoiceSlice) -> VoiceSlice:
    return VoiceSlice(
        candidates=role.candidates, none_price=role.none_price, release_price=role.release_price
    )


def test_an_empty_problem_costs_nothing() -> None:
    solution = find_best_way(Problem(), tuning=STANDARD_TUNING, level=INTERMEDIATE, prices=PRICES)
    assert solution.price == 0
    assert solution.is_optimal


def test_an_open_string_is_the_cheapest_place() -> None:
    solution = find_best_way(
        Problem((Slice(quarters=1, seconds=0.6, voices=(struck(note(64, highest_fret=19)),)),)),
        tuning=STANDARD_TUNING,
        level=INTERMEDIATE,
        prices=PRICES,
    )
    chosen = solution.slices[0].voices[0]
    assert chosen is not None
    assert chosen.touch.place == Place(1, 0)  # type: ignore[arg-type]
    assert solution.price == 0


def test_a_held_melody_note_keeps_string_and_finger_under_a_moving_bass() -> None:
    melody = struck(note(60))  # C4: string 2 fret 1, or string 3 fret 5
    slices = tuple(
        Slice(quarters=1, seconds=0.3, voices=(melody if i == 0 else held(melody), struck(note(bass))))
        for i, bass in enumerate((48, 41, 43))
    )
    solution = find_best_way(Problem(slices), tuning=STANDARD_TUNING, level=INTERMEDIATE, prices=PRICES)
    stops = {
        (melody.touch.place, melody.touch.finger)
        for s in solution.slices
        for melody in s.voices[:1]
        if melody
    }
    assert len(stops) == 1


def test_a_bass_is_let_go_for_its_stated_price_where_its_string_is_needed() -> None:
    """E2 is held on string 6 when F2 is struck: only string 6 has either."""
    bass = struck(note(40), release_price=30)
    slices = (
        Slice(quarters=1, seconds=0.5, voices=(SILENT, bass)),
        Slice(quarters=1, seconds=0.5, voices=(struck(note(41)), held(bass))),
    )
    solution = find_best_way(Problem(slices), tuning=STANDARD_TUNING, level=INTERMEDIATE, prices=PRICES)
    assert solution.slices[0].voices[1] is not None
    assert solution.slices[1].voices[1] is None
    assert solution.price == 30 + PRICES.finger_pressed


def test_a_barre_that_is_there_from_the_start_is_laid_for_half_the_price() -> None:
    """C4 and F4 at fret 1 under finger 1, after an open string and without it."""
    barre = tuple(struck(replace(note(midi), fingers=(Finger.INDEX,))) for midi in (65, 60))
    barred = Slice(quarters=1, seconds=0.6, voices=barre)
    before = Slice(quarters=1, seconds=0.6, voices=(struck(replace(note(64), strings=(1,))), SILENT))
    at_once, later = (best_price(Problem(slices)) for slices in ((barred,), (before, barred)))
    rest = 2 * PRICES.finger_pressed + PRICES.half_barre_kept_per_quarter
    assert at_once == rest + round(PRICES.half_barre_laid / 2)
    assert later == rest + PRICES.half_barre_laid


def test_a_tip_may_be_laid_flat_while_its_note_is_held() -> None:
    """F major grip grown from its bass: finger 1 on F2, then C4 at the same fret."""
    bass = struck(note(41))
    slices = (
        Slice(quarters=1, seconds=0.5, voices=(SILENT, bass)),
        Slice(quarters=1, seconds=0.5, voices=(struck(note(65, highest_fret=1)), held(bass))),
    )
    solution = find_best_way(Problem(slices), tuning=STANDARD_TUNING, level=INTERMEDIATE, prices=PRICES)
    assert solution.price == plain_best_price(Problem(slices), World(STANDARD_TUNING, INTERMEDIATE, PRICES))


# The large world, against the plain search.

notes_low = st.integers(40, 52)
notes_inner = st.integers(50, 62)
notes_high = st.integers(58, 69)
small_price = st.integers(0, 200)


@st.composite
def candidates(draw: st.DrawFn, notes: st.SearchStrategy[int], *, must_sound: bool) -> Candidate:
    if must_sound:
        return note(draw(notes), draw(small_price), highest_fret=7)
    return Candidate(
        MidiNote(draw(notes)),
        price=draw(small_price),
        fills=draw(st.sampled_from((0, 1, 2))),
        highest_fret=draw(st.sampled_from((3, 5))),
        strings=draw(st.sampled_from(((), (), (), (4, 5, 6)))),
        fingers=draw(st.sampled_from(((), (), (), (0, 2, 3)))),
    )


@st.composite
def struck_voices(
    draw: st.DrawFn, notes: st.SearchStrategy[int], count: int, *, must_sound: bool
) -> VoiceSlice:
    fresh = candidates(notes, must_sound=must_sound)
    chosen = draw(st.lists(fresh, min_size=1, max_size=count, unique_by=lambda c: c.note))
    if must_sound:
        return struck(*chosen)
    return struck(*chosen, none_price=draw(small_price), release_price=draw(st.none() | small_price))


@st.composite
def motions(draw: st.DrawFn, before: VoiceSlice, after: VoiceSlice) -> tuple[tuple[int, ...], ...]:
    if not before.candidates or not after.is_struck or draw(st.booleans()):
        return ()
    return tuple(tuple(draw(st.integers(0, 90)) for _ in after.candidates) for _ in before.candidates)


restrictions = st.just(UNRESTRICTED) | st.builds(
    Restriction,
    position=st.none() | st.none() | st.integers(1, 5),
    allows_barre=st.booleans(),
    free_fingers=st.sampled_from(((), (), (Finger.LITTLE,), (Finger.INDEX, Finger.RING))),
)


@st.composite
def problems(draw: st.DrawFn) -> Problem:
    slices: list[Slice] = []
    melody = bass = inner = VoiceSlice()
    wanted: tuple[int, ...] = ()
    for _ in range(draw(st.integers(1, 4))):
        bass_before, inner_before = bass, inner
        melody = _next(draw, melody, struck_voices(notes_high, 1, must_sound=True))
        bass = _next(draw, bass, struck_voices(notes_low, 2, must_sound=False))
        inner = _next(draw, inner, struck_voices(notes_inner, 2, must_sound=False))
        opens = draw(st.booleans())
        wanted = draw(st.tuples(small_price, small_price)) if opens else wanted
        slices.append(
            Slice(
                quarters=0.5,
                seconds=draw(st.sampled_from((0.15, 0.3, 0.7))),
                voices=(
                    replace(melody, sings=True),
                    replace(bass, steps=draw(motions(bass_before, bass))),
                    replace(inner, steps=draw(motions(inner_before, inner))),
                ),
                interplay=draw(interplays(bass, inner)),
                successions=draw(successions(inner_before, inner, bass)),
                opens_window=opens,
                wanted=wanted,
                restriction=draw(restrictions),
            )
        )
    return Problem(tuple(slices))


@st.composite
def interplays(draw: st.DrawFn, bass: VoiceSlice, inner: VoiceSlice) -> tuple[Interplay, ...]:
    if not bass.candidates or not inner.candidates:
        return ()
    price = st.sampled_from((0, 0, 40, FORBIDDEN))
    return (Interplay(1, 2, tuple(tuple(draw(price) for _ in inner.candidates) for _ in bass.candidates)),)


@st.composite
def successions(
    draw: st.DrawFn, inner_before: VoiceSlice, inner: VoiceSlice, bass: VoiceSlice
) -> tuple[Succession, ...]:
    """From the inner voice to the bass; a step may cost something, or be worth something."""
    if not inner_before.candidates or inner.is_held or not bass.is_struck:
        return ()
    price = st.integers(-60, 60)
    table = tuple(tuple(draw(price) for _ in bass.candidates) for _ in inner_before.candidates)
    return (Succession(2, 1, table),) if draw(st.booleans()) else ()


def _next(draw: st.DrawFn, before: VoiceSlice, fresh: st.SearchStrategy[VoiceSlice]) -> VoiceSlice:
    """The role goes on, is silent, or is struck anew."""
    choices = [st.just(VoiceSlice()), fresh, fresh]
    if before.candidates:
        choices += [st.just(held(before))] * 3
    return draw(st.one_of(choices))


@settings(max_examples=60, deadline=None)
@given(problems(), st.sampled_from(("early", "intermediate", "advanced")), st.sampled_from((0.9, 1.0)))
def test_the_price_is_the_plain_search_s_price(problem: Problem, level: str, hand_size: float) -> None:
    """None: there are notes that the hand cannot hold together, and nothing may be let go."""
    world = World(STANDARD_TUNING, LEVELS[level], PRICES, hand_size)
    assert price_or_none(lambda: best_price(problem, level, hand_size)) == price_or_none(
        lambda: plain_best_price(problem, world)
    )


@st.composite
def chord_changes(draw: st.DrawFn) -> Problem:
    """Chords under a tune, at leisure or not, in which every note begins anew."""
    voices = draw(st.sampled_from(((notes_high, notes_low), (notes_high, notes_inner, notes_low))))
    slices = []
    for _ in range(draw(st.integers(2, 3))):
        tune, *others = (struck(note(draw(notes))) for notes in voices)
        seconds = draw(st.sampled_from((0.3, 0.5, 1.2)))
        slices.append(Slice(quarters=1, seconds=seconds, voices=(replace(tune, sings=True), *others)))
    return Problem(tuple(slices))


@settings(max_examples=60, deadline=None)
@given(chord_changes())
def test_from_chord_to_chord_the_price_is_the_plain_search_s_price(problem: Problem) -> None:
    world = World(STANDARD_TUNING, INTERMEDIATE, PRICES)
    assert price_or_none(lambda: best_price(problem)) == price_or_none(
        lambda: plain_best_price(problem, world)
    )


# What comes again, against the plain search.


@st.composite
def recurring_problems(draw: st.DrawFn) -> Problem:
    """Two or three slices that come again, with others before, between and after."""
    whole, other = draw(problems()).slices[:2], draw(problems()).slices[:1]
    again = tuple(replace(s, opens_window=True, wanted=()) for s in whole)
    again = (unbound(again[0]), *again[1:])
    slices = (*again, *(unbound(s) for s in other), *again)
    count = len(again)
    return Problem(slices, ((range(count), range(count + len(other), 2 * count + len(other))),))


def unbound(slice_: Slice) -> Slice:
    """Without steps from what was before: that is another slice now."""
    return replace(slice_, voices=tuple(replace(voice, steps=()) for voice in slice_.voices))


@settings(max_examples=25, deadline=None)
@given(recurring_problems(), st.sampled_from(("intermediate", "advanced")))
def test_what_comes_again_is_played_alike_at_the_price_that_is_claimed(problem: Problem, level: str) -> None:
    """The plain search goes through every way that is alike; the search says whether it found the best."""
    world = World(STANDARD_TUNING, LEVELS[level], PRICES)
    try:
        least = plain_best_price(problem, world)
    except NoWayError:
        return  # It cannot be played alike, or not at all.
    found = find_best_way(problem, tuning=STANDARD_TUNING, level=LEVELS[level], prices=PRICES)
    first, second = problem.alike[0]
    assert [played(found.slices[i]) for i in first] == [played(found.slices[i]) for i in second]
    assert found.lower_bound <= least <= found.price
    assert found.is_optimal == (found.price == found.lower_bound)


def test_what_no_hand_can_play_alike_stays_as_it_is() -> None:
    """Even where the notes bring more than they cost: then what is forbidden costs less than FORBIDDEN."""
    first, second = (
        Slice(quarters=1, seconds=1, voices=(struck(replace(note(64, price=-1000), strings=(string,))),))
        for string in (1, 2)
    )
    each_for_itself = Problem((first, second))
    alike = replace(each_for_itself, alike=((range(1), range(1, 2)),))
    assert best_price(alike) == best_price(each_for_itself)


def played(slice_: ChosenSlice) -> list[tuple[Place, Finger] | None]:
    return [(v.touch.place, v.touch.finger) if v else None for v in slice_.voices]


def price_or_none(search: Callable[[], int]) -> int | None:
    try:
        return search()
    except NoWayError:
        return None
