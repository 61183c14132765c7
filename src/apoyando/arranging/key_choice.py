"""The key: the song in all of them, compared, and arranged in the one that is asked for or costs least."""

from collections.abc import Callable, Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace
from functools import partial
from os import cpu_count
from signal import SIG_IGN, SIGINT, signal
from typing import TypeVar

from apoyando.arranging.arrange import arrange_in_key, check_plan, price_in_key
from apoyando.arranging.keys import key_named, signature_price, twelve_keys
from apoyando.model.arrangement import Arrangement, Role
from apoyando.model.errors import UsageError
from apoyando.model.level import Level
from apoyando.model.locks import is_of_one_key
from apoyando.model.pitch import Key
from apoyando.model.plan import Plan
from apoyando.model.prices import Prices
from apoyando.model.song import Song

Found = TypeVar("Found")


@dataclass(frozen=True, slots=True, kw_only=True)
class KeyComparison:
    """What the song costs in one key. ``price`` includes reading the signature."""

    key: Key
    price: float
    open_basses: int
    barres: int
    highest_fret: int
    arrangement: Arrangement


def arrange_song(song: Song, plan: Plan, level: Level) -> Arrangement:
    """The song for one guitar, in the plan's key or else in the cheapest of the twelve.

    Raises UsageError for a plan that cannot be meant, locks of one key without a key among them.
    """
    if plan.key:
        return arrange_in_key(song, plan, level, key_named(plan.key, song))
    _check_locks_need_no_key(song, plan)
    return arrange_in_key(song, plan, level, find_cheapest_key(song, plan, level))


def find_cheapest_key(song: Song, plan: Plan, level: Level) -> Key:
    """The key in which the song costs least, reading the signature included; of equals the first."""
    check_plan(plan)
    prices = Prices().turned(plan.prices)
    asked = partial(price_in_key, song, _each_bar_for_itself(plan), level)
    priced = [(price + signature_price(song, key, prices), key) for key, price in _in_all_keys(asked, song)]
    return min(priced, key=lambda pair: pair[0])[1]


def _check_locks_need_no_key(song: Song, plan: Plan) -> None:
    for lock in plan.locks:
        if is_of_one_key(lock):
            raise UsageError(
                f'The lock "{lock}" belongs to one key, and the plan names none. Write the key of the page '
                f'that you look at into the plan: key = "{song.key.tonic}" or the like.'
            )


def compare_keys(song: Song, plan: Plan, level: Level) -> tuple[KeyComparison, ...]:
    """The song in each of the twelve keys, in the order of the signatures.

    Each bar is fingered for itself, so that the keys are compared at once. Locks that speak of notes and places belong to one key, and are left aside.
    """
    check_plan(plan)
    plan = replace(plan, locks=tuple(lock for lock in plan.locks if not is_of_one_key(lock)))
    prices = Prices().turned(plan.prices)
    arrange = partial(arrange_in_key, song, _each_bar_for_itself(plan), level)
    return tuple(_compare(song, key, found, prices) for key, found in _in_all_keys(arrange, song))


def _each_bar_for_itself(plan: Plan) -> Plan:
    return replace(plan, same_fingering=False)


def _in_all_keys(work: Callable[[Key], Found], song: Song) -> Iterator[tuple[Key, Found]]:
    """Side by side on all cores. The helpers leave it to this process to be stopped by the player."""
    keys = twelve_keys(song)
    workers = min(cpu_count() or 1, len(keys))
    if workers == 1:
        yield from ((key, work(key)) for key in keys)
        return
    with ProcessPoolExecutor(workers, initializer=signal, initargs=(SIGINT, SIG_IGN)) as pool:
        yield from zip(keys, pool.map(work, keys), strict=True)


def _compare(song: Song, key: Key, arrangement: Arrangement, prices: Prices) -> KeyComparison:
    basses = arrangement.voice(Role.BASS)
    return KeyComparison(
        key=key,
        price=arrangement.search.price + signature_price(song, key, prices),
        open_basses=sum(note.place.is_open for note in basses),
        barres=len(arrangement.barres),
        highest_fret=max((note.place.fret for note in arrangement.notes), default=0),
        arrangement=arrangement,
    )
