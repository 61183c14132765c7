"""The key, and with it capo and tuning: all that the plan leaves open compared, and the cheapest taken."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import partial
from typing import Generic, TypeVar

from apoyando.arranging.arrange import arrange_in_key, check_plan, price_in_key
from apoyando.arranging.preparation import prepare_song
from apoyando.arranging.ruler import Ruler
from apoyando.arranging.setups import Setup, choose_setup, list_setups, setup_price
from apoyando.cores import side_by_side
from apoyando.model.arrangement import Arrangement
from apoyando.model.errors import UsageError
from apoyando.model.instrument import STANDARD_TUNING
from apoyando.model.level import Level
from apoyando.model.locks import is_of_one_key
from apoyando.model.pitch import Key
from apoyando.model.plan import Plan
from apoyando.model.prices import Prices
from apoyando.model.song import Song

Seen = TypeVar("Seen")


@dataclass(frozen=True, slots=True, kw_only=True)
class KeyComparison(Generic[Seen]):
    """The song in one setup. ``price`` includes what the setup itself costs.

    ``seen`` is what the caller's look at the arrangement told.
    """

    setup: Setup
    price: int
    arrangement: Arrangement
    seen: Seen

    @property
    def key(self) -> Key:
        return self.setup.key


def arrange_song(song: Song, plan: Plan, level: Level, ruler: Ruler | None = None) -> Arrangement:
    """The song for one guitar; where the plan leaves key, capo or tuning open, as it costs least.

    With a ``ruler`` of difficulty bars that ask more than the level has are made easier.
    Raises UsageError for a plan that cannot be meant, and for locks that belong to one page
    where the plan does not say which.
    """
    setup = _settle_setup(song, plan, level)
    return arrange_in_key(song, choose_setup(plan, setup), level, setup.key, ruler=ruler)


def sketch_song(song: Song, plan: Plan, level: Level) -> Arrangement:
    """As ``arrange_song``, at once: no bar is made easier, and nothing proves that no other costs less.

    It is for looking at while the piece is made. Raises as ``arrange_song``.
    """
    setup = _settle_setup(song, plan, level)
    return arrange_in_key(song, choose_setup(plan, setup), level, setup.key, proof_rounds=0)


def _settle_setup(song: Song, plan: Plan, level: Level) -> Setup:
    match list_setups(song, plan):
        case (setup,):
            return setup
        case _:
            _check_locks_are_free(song, plan)
            return find_cheapest_setup(song, plan, level)


def find_cheapest_setup(song: Song, plan: Plan, level: Level) -> Setup:
    """The setup that costs least, of all that the plan leaves open; of equals the first."""
    setups, prices = _open_setups(song, plan), Prices().turned(plan.prices)
    piece = prepare_song(song, plan).song
    found = side_by_side(partial(_price, song, _each_bar_for_itself(plan), level), setups)
    priced = [price + setup_price(piece, setup, prices) for setup, price in zip(setups, found, strict=True)]
    return setups[priced.index(min(priced))]


def compare_keys(
    song: Song, plan: Plan, level: Level, look: Callable[[Arrangement], Seen]
) -> tuple[KeyComparison[Seen], ...]:
    """The song in every key, and in every tuning if the plan names none; the cheapest first.

    Where the sounding key must stay, the keys are those whose shapes reach it with a capo. Each
    bar is fingered for itself, so that the keys are compared at once. Locks that speak of notes
    and places belong to one page, and are left aside. ``look`` is taken at every arrangement
    beside the search, on all cores.
    """
    locks = tuple(lock for lock in plan.locks if not is_of_one_key(lock))
    plan = replace(plan, key="", capo=0 if plan.sounding else plan.capo, locks=locks)
    setups = _open_setups(song, plan)
    compare = partial(_compare, song, _each_bar_for_itself(plan), level, look)
    return tuple(sorted(side_by_side(compare, setups), key=lambda each: each.price))


def _open_setups(song: Song, plan: Plan) -> tuple[Setup, ...]:
    """Raises UsageError for a plan that cannot be meant."""
    check_plan(replace(plan, tuning=plan.tuning or STANDARD_TUNING.name))
    return list_setups(song, plan)


def _check_locks_are_free(song: Song, plan: Plan) -> None:
    """Places belong to a key and a tuning."""
    entry, example = ("tuning", STANDARD_TUNING.name) if plan.key else ("key", str(song.key.tonic))
    for lock in plan.locks:
        if is_of_one_key(lock):
            raise UsageError(
                f'The lock "{lock}" belongs to one {entry}, and the plan names none. Write the {entry} of the '
                f'page that you look at into the plan: {entry} = "{example}" or the like.'
            )


def _each_bar_for_itself(plan: Plan) -> Plan:
    return replace(plan, same_fingering=False)


def _price(song: Song, plan: Plan, level: Level, setup: Setup) -> int:
    return price_in_key(song, choose_setup(plan, setup), level, setup.key)


def _compare(
    song: Song, plan: Plan, level: Level, look: Callable[[Arrangement], Seen], setup: Setup
) -> KeyComparison[Seen]:
    arrangement = arrange_in_key(song, choose_setup(plan, setup), level, setup.key)
    piece, prices = prepare_song(song, plan).song, Prices().turned(plan.prices)
    return KeyComparison(
        setup=setup,
        price=round(arrangement.search.price) + setup_price(piece, setup, prices),
        arrangement=arrangement,
        seen=look(arrangement),
    )
