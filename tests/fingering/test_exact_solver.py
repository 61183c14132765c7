"""The search's price is the proven optimum of an independent, general-purpose solver.

The same problem is written twice: for the search, and as a model for OR-Tools CP-SAT
(``references/exact_solver.py``), which proves its answer. On every excerpt of two to four
bars, real or random, the two prices must be equal.
"""

from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from itertools import chain

import pytest

from apoyando.fingering import (
    Candidate,
    NoWayError,
    Problem,
    Slice,
    Solution,
    VoiceSlice,
    find_best_way,
)
from apoyando.model.pitch import MidiNote
from excerpts import (
    SONGS,
    WORLDS,
    Excerpt,
    fix_accompaniment,
    narrow_choice,
    random_excerpts,
    real_excerpts,
    recurring_excerpts,
    take_cheapest,
)
from references.exact_solver import NoProofError, solve_exactly
from references.plain_search import World

EXCERPTS = 60
REAL = min(2 * len(SONGS), 42)
WHOLE = 4
CORES = 2
INTERMEDIATE = WORLDS["intermediate"]


@dataclass(frozen=True)
class Prices:
    """What the search and the solver say, in this order; None where there is no way."""

    name: str
    free: tuple[int | None, int | None]
    given: tuple[int | None, int | None]
    cheapest: tuple[int | None, int | None]
    problem: Problem


def search(problem: Problem, world: World) -> Solution | None:
    try:
        return find_best_way(
            problem, tuning=world.tuning, level=world.level, prices=world.prices, hand_size=world.hand_size
        )
    except NoWayError:
        return None


def both_prices(problem: Problem, world: World) -> tuple[int | None, int | None]:
    found = search(problem, world)
    return found.price if found else None, solve_exactly(problem, world)


def excerpts() -> Iterator[Excerpt]:
    """Of each song two bars, of some three or four, and the rest random; the choice narrowed to keep this short.

    ``bench/search_bench.py`` compares the two with the whole choice.
    """
    by_length = real_excerpts((2,)), real_excerpts((3,), SONGS[::4]), real_excerpts((4,), SONGS[::9])
    real = [excerpt for excerpt, _ in zip(chain(*by_length), range(REAL), strict=False)]
    for excerpt in (*real, *random_excerpts(EXCERPTS - len(real))):
        yield replace(excerpt, problem=narrow_choice(excerpt.problem))


def compare(excerpt: Excerpt) -> Prices:
    problem, world = excerpt.problem, excerpt.world
    chosen = search(problem, world)
    assert chosen is not None
    return Prices(
        name=excerpt.name,
        free=both_prices(problem, world),
        given=both_prices(fix_accompaniment(problem, chosen.slices), world),
        cheapest=both_prices(take_cheapest(problem), world),
        problem=problem,
    )


@pytest.fixture(scope="module")
def compared() -> list[Prices]:
    with ThreadPoolExecutor(CORES) as pool:
        return list(pool.map(compare, excerpts()))


def test_there_are_sixty_excerpts_and_no_two_alike(compared: list[Prices]) -> None:
    assert len(compared) >= EXCERPTS
    assert len({prices.name for prices in compared}) == len(compared)
    assert len({prices.problem for prices in compared}) == len(compared)


def test_with_free_accompaniment_the_price_is_the_proven_optimum(compared: list[Prices]) -> None:
    assert [(p.name, p.free) for p in compared if p.free[0] != p.free[1]] == []


def test_with_the_whole_choice_the_price_is_the_proven_optimum() -> None:
    """Four songs as the arranger poses them; ``bench/search_bench.py`` takes them all."""
    excerpts_ = list(real_excerpts((2,), SONGS[:: len(SONGS) // WHOLE]))
    with ThreadPoolExecutor(CORES) as pool:
        prices = list(pool.map(lambda e: both_prices(e.problem, e.world), excerpts_))
    assert len(prices) >= WHOLE
    assert [pair for pair in prices if pair[0] != pair[1] or pair[0] is None] == []


def test_with_given_notes_the_price_is_the_proven_optimum(compared: list[Prices]) -> None:
    """Fingering alone: each voice has the one note that the free search chose."""
    assert [(p.name, p.given) for p in compared if p.given[0] != p.given[1]] == []
    assert all(p.given[0] is not None for p in compared)


def test_what_comes_again_is_played_alike_for_the_proven_optimum_or_says_that_it_may_not_be() -> None:
    """A bar, another, the first again: the ties reach across the excerpt."""
    unproven = 0
    for excerpt in recurring_excerpts(SONGS[::2]):
        found, least = search(excerpt.problem, excerpt.world), solve_exactly(excerpt.problem, excerpt.world)
        assert found is not None
        assert least is not None
        assert found.lower_bound <= least <= found.price, excerpt.name
        unproven += not found.is_optimal
    assert unproven <= len(SONGS[::2]) // 4


def test_where_the_hand_cannot_hold_the_given_notes_both_say_so(compared: list[Prices]) -> None:
    """Each voice has the one note that the ear likes best, held to its end whatever the hand says."""
    assert [(p.name, p.cheapest) for p in compared if p.cheapest[0] != p.cheapest[1]] == []
    assert any(p.cheapest == (None, None) for p in compared)
    assert any(p.cheapest != (None, None) for p in compared)


# The solver's model itself, by hand.


def one_note(midi: int, **changes: object) -> VoiceSlice:
    voice = VoiceSlice(candidates=(Candidate(MidiNote(midi), highest_fret=4),), is_struck=True)
    return replace(voice, **changes)  # type: ignore[arg-type]


def quarter(*voices: VoiceSlice) -> Slice:
    return Slice(quarters=1, seconds=0.5, voices=voices)


def test_an_open_string_costs_nothing() -> None:
    assert solve_exactly(Problem((quarter(one_note(64)),)), INTERMEDIATE) == 0


def test_a_stopped_note_costs_its_finger() -> None:
    problem = Problem((quarter(one_note(65)),))
    assert solve_exactly(problem, INTERMEDIATE) == INTERMEDIATE.prices.finger_pressed


def test_two_notes_for_one_string_have_no_way() -> None:
    problem = Problem((quarter(one_note(40), one_note(41)),))
    assert solve_exactly(problem, INTERMEDIATE) is None


def test_a_note_let_go_is_paid_for() -> None:
    """E2 sounds on string 6 alone, and so does F2."""
    low = one_note(40, release_price=30)
    problem = Problem((quarter(VoiceSlice(), low), quarter(one_note(41), replace(low, is_struck=False))))
    assert solve_exactly(problem, INTERMEDIATE) == 30 + INTERMEDIATE.prices.finger_pressed


@pytest.mark.parametrize("seconds", [0.3, 1.2])
def test_a_chord_that_is_lifted_with_its_tune_costs_the_proven_optimum(seconds: float) -> None:
    """From D to G under F#4 and G4: finger 3 leaves an inner note for the tune, or another is taken."""
    chords = ((66, 62, 57, 50), (67, 59, 47, 43))
    problem = Problem(
        tuple(
            Slice(quarters=2, seconds=seconds, voices=(one_note(tune, sings=True), *map(one_note, others)))
            for tune, *others in chords
        )
    )
    found, proven = both_prices(problem, INTERMEDIATE)
    assert found == proven


def test_an_answer_without_proof_is_refused() -> None:
    excerpt = next(iter(random_excerpts(1)))
    with pytest.raises(NoProofError):
        solve_exactly(excerpt.problem, excerpt.world, seconds=0.0)


def test_the_solver_tells_its_statistics_when_asked() -> None:
    told: list[str] = []
    solve_exactly(Problem((quarter(one_note(64)),)), INTERMEDIATE, tell=told.append)
    assert "status: OPTIMAL" in told[0]
