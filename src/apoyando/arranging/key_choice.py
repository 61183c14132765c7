"""The key, and with it capo and tuning: all that the plan leaves open compared, and the cheapest taken."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from functools import partial
from math import inf
from typing import Generic, TypeVar

from apoyando.arranging.arrange import Show, arrange_in_key
from apoyando.arranging.key_prices import KeptToLevel, keep_to_level_in_key, price_in_key
from apoyando.arranging.posing import check_plan
from apoyando.arranging.preparation import prepare_song
from apoyando.arranging.ruler import Ruler
from apoyando.arranging.setups import Setup, choose_setup, list_setups, setup_price
from apoyando.cores import side_by_side
from apoyando.model.arrangement import Arrangement
from apoyando.model.errors import UsageError
from apoyando.model.instrument import STANDARD_TUNING, TUNINGS
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


def arrange_song(
    song: Song, plan: Plan, level: Level, ruler: Ruler | None = None, show: Show | None = None
) -> Arrangement:
    """The song for one guitar; where the plan leaves key, capo or tuning open, as it costs least.

    With a ``ruler`` of difficulty bars that ask more than the level has are made easier. ``show``
    is given the piece as soon as there is one to look at, in the setup that it will have.
    Raises UsageError for a plan that cannot be meant, and for locks that belong to one page
    where the plan does not say which.
    """
    setup = _settle_setup(song, plan, level, ruler)
    return arrange_in_key(song, choose_setup(plan, setup), level, setup.key, ruler=ruler, show=show)


def _settle_setup(song: Song, plan: Plan, level: Level, ruler: Ruler | None) -> Setup:
    match list_setups(song, plan):
        case (setup,):
            return setup
        case _:
            _check_locks_are_free(song, plan)
            return find_cheapest_setup(song, plan, level, ruler)


def find_cheapest_setup(song: Song, plan: Plan, level: Level, ruler: Ruler | None = None) -> Setup:
    """The setup that costs least, of all that the plan leaves open; of equals the first.

    With a ``ruler``: that costs least when the piece keeps to its level.
    """
    rivals = _list_rivals(song, plan, level)
    prices = dict(zip(rivals.setups, side_by_side(rivals.price, rivals.setups), strict=True))
    kept = _keep_cheapest_to_level(rivals, prices, ruler)
    return min(rivals.setups, key=lambda setup: kept[setup].price if setup in kept else prices[setup])


def compare_keys(
    song: Song,
    plan: Plan,
    level: Level,
    look: Callable[[Arrangement], Seen],
    ruler: Ruler | None = None,
) -> tuple[KeyComparison[Seen], ...]:
    """The song in every key, and in every tuning if the plan names none; the cheapest first.

    Where the sounding key must stay, the keys are those whose shapes reach it with a capo. Each
    bar is fingered for itself, so that the keys are compared at once. Locks that speak of notes
    and places belong to one page, and are left aside. ``look`` is taken at every arrangement
    beside the search, on all cores. With a ``ruler`` the piece keeps to its level in every setup
    that could come first in its tuning.
    """
    locks = tuple(lock for lock in plan.locks if not is_of_one_key(lock))
    plan = replace(plan, key="", capo=0 if plan.sounding else plan.capo, locks=locks)
    rivals = _list_rivals(song, plan, level)
    found = side_by_side(partial(rivals.compare, look), rivals.setups)
    compared = {each.setup: each for each in found}
    for tuning in TUNINGS:
        prices = {setup: each.price for setup, each in compared.items() if setup.tuning == tuning}
        for setup, kept in _keep_cheapest_to_level(rivals, prices, ruler).items():
            piece = kept.arrangement
            compared[setup] = KeyComparison(
                setup=setup, price=kept.price, arrangement=piece, seen=look(piece)
            )
    return tuple(sorted(compared.values(), key=lambda each: each.price))


def _check_locks_are_free(song: Song, plan: Plan) -> None:
    """Places belong to a key and a tuning."""
    entry, example = ("tuning", STANDARD_TUNING.name) if plan.key else ("key", str(song.key.tonic))
    for lock in plan.locks:
        if is_of_one_key(lock):
            raise UsageError(
                f'The lock "{lock}" belongs to one {entry}, and the plan names none. Write the {entry} of the '
                f'page that you look at into the plan: {entry} = "{example}" or the like.'
            )


# A song in all its setups.


@dataclass(frozen=True, slots=True)
class _Rivals:
    """A song in all setups that its plan leaves open; it is asked of them on all cores.

    A price includes what the setup itself costs.
    """

    song: Song
    plan: Plan
    level: Level
    setups: tuple[Setup, ...]

    def price(self, setup: Setup) -> int:
        """With each bar fingered for itself, which costs no more than bars played alike."""
        plan = choose_setup(self._each_bar_for_itself(), setup)
        return self._price_setup(setup) + price_in_key(self.song, plan, self.level, setup.key)

    def compare(self, look: Callable[[Arrangement], Seen], setup: Setup) -> KeyComparison[Seen]:
        plan = choose_setup(self._each_bar_for_itself(), setup)
        arrangement = arrange_in_key(self.song, plan, self.level, setup.key)
        price = self._price_setup(setup) + round(arrangement.search.price)
        return KeyComparison(setup=setup, price=price, arrangement=arrangement, seen=look(arrangement))

    def keep_to_level(self, ruler: Ruler, setup: Setup) -> KeptToLevel:
        """With bars played alike where the plan wants it."""
        plan = choose_setup(self.plan, setup)
        kept = keep_to_level_in_key(self.song, plan, self.level, setup.key, ruler)
        return replace(kept, price=self._price_setup(setup) + kept.price)

    def _each_bar_for_itself(self) -> Plan:
        return replace(self.plan, same_fingering=False)

    def _price_setup(self, setup: Setup) -> int:
        piece = prepare_song(self.song, self.plan).song
        return setup_price(piece, setup, Prices().turned(self.plan.prices))


def _list_rivals(song: Song, plan: Plan, level: Level) -> _Rivals:
    """Raises UsageError for a plan that cannot be meant."""
    check_plan(replace(plan, tuning=plan.tuning or STANDARD_TUNING.name))
    return _Rivals(song, plan, level, list_setups(song, plan))


_AT_ONCE = 2
"""However many cores there are: seldom more than two keys can come first."""


def _keep_cheapest_to_level(
    rivals: _Rivals, prices: Mapping[Setup, int], ruler: Ruler | None
) -> Mapping[Setup, KeptToLevel]:
    """The song at its level in every setup that could come first; ``prices`` are what they cost before.

    So it costs no less than before. They are taken from the cheapest on, until one costs less than any other did.
    """
    kept: dict[Setup, KeptToLevel] = {}
    if ruler is None:
        return kept
    keep = partial(rivals.keep_to_level, ruler)
    ranking = sorted(prices, key=lambda setup: prices[setup])
    while True:
        least = min((each.price for each in kept.values()), default=inf)
        asked = [setup for setup in ranking if setup not in kept and prices[setup] <= least][:_AT_ONCE]
        if not asked:
            return kept
        kept |= zip(asked, side_by_side(keep, asked), strict=True)
