"""The key is chosen by what the piece costs when it keeps to its level."""

from dataclasses import dataclass, replace
from functools import partial

from hypothesis import given, settings

from apoyando.arranging import Ruler, arrange_in_key, arrange_song, compare_keys, pose_in_key
from apoyando.arranging.as_played import price_as_played
from apoyando.arranging.key_prices import keep_to_level_in_key, price_in_key
from apoyando.arranging.locks import lock_song
from apoyando.arranging.preparation import prepare_song
from apoyando.arranging.searchers import find_searcher
from apoyando.arranging.setups import choose_setup, list_setups, setup_price
from apoyando.model.arrangement import Arrangement, RelaxationStep
from apoyando.model.level import Level
from apoyando.model.pitch import Key
from apoyando.model.plan import Plan
from apoyando.model.prices import Prices
from apoyando.model.song import Song
from apoyando.model.time import Quarters, Span
from apoyando.pipeline import make_ruler
from apoyando.reading import load_default_levels
from builders import make_song
from strategies import songs

LEVELS = load_default_levels()
INTERMEDIATE = LEVELS["intermediate"]
SONG = make_song("E4:2 G4:2 C5:4 A4:2 B4:2 G4:4", "C:4 C:4 F:4 C:4", count=4)
EACH_BAR_FOR_ITSELF = Plan(same_fingering=False)


@dataclass(frozen=True)
class Passed:
    onset: Quarters
    rule: str
    stretch: Span | None


def find_stopped(key: Key, arrangement: Arrangement, _: Level) -> list[Passed]:
    """In this key the accompaniment may stop no string."""
    return [
        Passed(note.onset, "stopped", note.span)
        for note in arrangement.notes
        if arrangement.key == key and note.role.is_accompaniment and not note.place.is_open
    ]


def ask_nothing(arrangement: Arrangement, _: Level) -> list[float]:
    return [0.0 for _ in arrangement.bars]


def ask_too_much(key: Key, arrangement: Arrangement, level: Level) -> list[float]:
    """In this key no bar is easy enough, but for the tune alone."""
    is_tune_alone = not any(note.role.is_accompaniment for note in arrangement.notes)
    points = 0.0 if is_tune_alone or arrangement.key != key else level.most_points + 1000
    return [points for _ in arrangement.bars]


def no_look(_: Arrangement) -> None:
    """Nobody looks at the arrangement but the search."""


def keys_of(ruler: Ruler | None) -> list[Key]:
    plan = Plan(tuning="standard")
    return [each.key for each in compare_keys(SONG, plan, INTERMEDIATE, no_look, ruler)]


def test_a_key_that_costs_little_but_cannot_keep_to_the_level_is_not_taken() -> None:
    first, second, *_ = keys_of(None)
    ruler = Ruler(ask_nothing, find=partial(find_stopped, first))

    assert keys_of(ruler)[0] == second
    assert arrange_song(SONG, Plan(), INTERMEDIATE).key == first
    assert arrange_song(SONG, Plan(), INTERMEDIATE, ruler).key == second


def test_a_key_in_which_no_bar_can_be_made_easy_enough_is_not_taken() -> None:
    first, second, *_ = keys_of(None)

    assert keys_of(Ruler(partial(ask_too_much, first)))[0] == second


def test_a_bar_whose_tune_alone_is_beyond_the_level_counts_against_no_key() -> None:
    def ask_of_all(arrangement: Arrangement, level: Level) -> list[float]:
        return [level.most_points + 1000 for _ in arrangement.bars]

    kept = keep_to_level_in_key(SONG, EACH_BAR_FOR_ITSELF, INTERMEDIATE, SONG.key, Ruler(ask_of_all))

    assert any(each.step is RelaxationStep.OVER_LEVEL for each in kept.arrangement.relaxations)
    assert kept.price == price_in_key(SONG, EACH_BAR_FOR_ITSELF, INTERMEDIATE, SONG.key)


def test_a_bar_that_passes_a_limit_all_the_same_counts_against_its_key() -> None:
    """No easing helps a bar that may have no accompaniment at all."""

    def find_accompanied(arrangement: Arrangement, _: Level) -> list[Passed]:
        return [
            Passed(note.onset, "accompanied", note.span)
            for note in arrangement.notes
            if note.role.is_accompaniment and note.onset == 0
        ]

    free, found = (
        keep_to_level_in_key(SONG, EACH_BAR_FOR_ITSELF, INTERMEDIATE, SONG.key, ruler)
        for ruler in (Ruler(ask_nothing), Ruler(ask_nothing, find=find_accompanied))
    )
    assert found.price == free.price + Prices().bar_over_level


def test_a_key_is_weighed_with_what_the_next_harder_level_asks_of_it() -> None:
    """A piece that would be harder than at the next level is made easier, and costs what it costs then."""

    def ask_less_of_advanced(arrangement: Arrangement, _: Level) -> list[float]:
        stopped = [note for note in arrangement.notes if note.role.is_accompaniment and note.finger]
        counts = [sum(bar.span.contains(note.onset) for note in stopped) for bar in arrangement.bars]
        return [count + (arrangement.level != "advanced") for count in counts]

    kept = keep_to_level_in_key(
        SONG,
        EACH_BAR_FOR_ITSELF,
        INTERMEDIATE,
        SONG.key,
        Ruler(ask_less_of_advanced, (replace(INTERMEDIATE, name="advanced", most_points=1000),)),
    )
    assert any(each.step is RelaxationStep.BAR_EASED for each in kept.arrangement.relaxations)
    assert kept.price > price_in_key(SONG, EACH_BAR_FOR_ITSELF, INTERMEDIATE, SONG.key)


def test_the_first_look_is_in_the_key_of_the_finished_piece() -> None:
    ruler = Ruler(ask_nothing, find=partial(find_stopped, keys_of(None)[0]))
    shown: list[Arrangement] = []

    piece = arrange_song(SONG, Plan(), INTERMEDIATE, ruler, shown.append)

    (sketch,) = shown
    assert sketch.key == piece.key == keys_of(ruler)[0]
    assert piece == arrange_song(SONG, Plan(), INTERMEDIATE, ruler)


def test_what_is_told_of_a_key_is_told_of_the_piece_at_its_level() -> None:
    first = keys_of(None)[0]
    ruler = Ruler(ask_nothing, find=partial(find_stopped, first))
    compared = compare_keys(SONG, Plan(tuning="standard"), INTERMEDIATE, len_of_relaxations, ruler)

    (at_its_level,) = [each for each in compared if each.key == first]
    steps = {each.step for each in at_its_level.arrangement.relaxations}
    assert RelaxationStep.LEVEL_KEPT in steps
    assert at_its_level.seen == len(at_its_level.arrangement.relaxations)


def len_of_relaxations(arrangement: Arrangement) -> int:
    return len(arrangement.relaxations)


@settings(max_examples=10, deadline=None)
@given(songs())
def test_the_key_is_that_which_costs_least_of_all_at_the_level(song: Song) -> None:
    """Every key made to keep to the level, not only those that may come first."""
    ruler = make_ruler(Plan(), LEVELS)
    plan, prices = Plan(), Prices()
    costs: list[tuple[int, Key]] = []
    for setup in list_setups(song, plan):
        kept = keep_to_level_in_key(song, choose_setup(plan, setup), INTERMEDIATE, setup.key, ruler)
        costs.append((kept.price + setup_price(song, setup, prices), setup.key))

    chosen = arrange_song(song, plan, INTERMEDIATE, ruler).key

    assert min(costs, key=lambda each: each[0])[0] == {key: cost for cost, key in costs}[chosen]


# What an arrangement costs as it stands.


def ask_price_as_played(song: Song, arrangement: Arrangement) -> int:
    prepared = prepare_song(song, EACH_BAR_FOR_ITSELF)
    posed = lock_song(pose_in_key(prepared.song, prepared.plan, INTERMEDIATE, song.key), ())
    return price_as_played(posed, arrangement, find_searcher(posed.setting, 1.0))


@settings(max_examples=40, deadline=None)
@given(songs())
def test_the_answer_to_the_songs_own_question_costs_what_the_search_says(song: Song) -> None:
    arrangement = arrange_in_key(song, EACH_BAR_FOR_ITSELF, INTERMEDIATE, song.key)

    assert ask_price_as_played(song, arrangement) == arrangement.search.price


@settings(max_examples=40, deadline=None)
@given(songs())
def test_a_piece_made_easier_costs_no_less_than_before(song: Song) -> None:
    kept = keep_to_level_in_key(
        song,
        EACH_BAR_FOR_ITSELF,
        INTERMEDIATE,
        song.key,
        Ruler(ask_nothing, find=partial(find_stopped, song.key)),
    )

    price = ask_price_as_played(song, kept.arrangement)

    assert price == kept.price >= price_in_key(song, EACH_BAR_FOR_ITSELF, INTERMEDIATE, song.key)
