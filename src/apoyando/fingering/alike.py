"""Played alike: stretches that come again take the same fingering every time.

The ties reach across the song, where the search goes from slice to slice. So they are first
tried by prices alone (dual decomposition: Komodakis, Paragios & Tziritas 2007; Rush &
Collins 2012): each coming is charged for playing a slice in its own way and rebated for the
ways of the others, in sum nothing. Whatever is charged, the cheapest way with the charges
costs no more than the cheapest that is alike; if it is alike, it is that.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

import numpy as np

from apoyando.fingering.fronts import Charge, Walk
from apoyando.fingering.layers import Ways
from apoyando.fingering.problem import FORBIDDEN, NoWayError
from apoyando.fingering.route import Route, go
from apoyando.fingering.touches import Flags, Ints

Group = Sequence[range]
"""The stretches of slices that should be played alike, all of one length."""

Pin = tuple[int, ...]
"""How a slice is played: for each voice the number of its place and finger."""

PROOF_ROUNDS = 16
"""So often charges are tried: on 21 lead sheets two of three are proven then, and few later."""
_FIRST_CHARGE = 8.0
_GENTLER = 0.7
"""After a round that does not raise the bound the charges are this much smaller."""


def play_alike(walk: Walk, route: Route, groups: Sequence[Group], rounds: int) -> tuple[Route, int]:
    """The cheapest route found on which every group is played alike, and a lower bound for its price.

    A group for which no common way is found stays as it is.
    """
    bound, charge, charged = route.price, _FIRST_CHARGE, route
    for _ in range(rounds):
        charges = dict(_charges(charged, groups, round(charge)))
        if not charges:
            return charged, charged.price
        charged = _with_charges(walk, charged, charges)
        charge = charge if charged.price > bound else charge * _GENTLER
        bound = max(bound, charged.price)
    return _play_as_once(walk, route, charged, groups), bound


def _charges(route: Route, groups: Sequence[Group], unit: int) -> Iterator[tuple[int, Ints]]:
    """For each slice that is not played alike what its grips are charged: nothing in sum over the comings."""
    grips = route.grips()
    for group in groups:
        for slices in zip(*group, strict=True):
            pins = [_pin(route.fronts[index].layer.ways, grips[index]) for index in slices]
            if len(set(pins)) > 1:
                for index, own in zip(slices, pins, strict=True):
                    ways = route.fronts[index].layer.ways
                    rebate = sum(_is_played(ways, pin).astype(np.int64) for pin in pins)
                    yield index, max(unit, 1) * (len(pins) * _is_played(ways, own) - rebate)


def _with_charges(walk: Walk, route: Route, charges: Mapping[int, Ints]) -> Route:
    """The route with these charges on top of those that it has. Raises NoWayError."""
    tasks = list(route.tasks)
    for index, price in charges.items():
        before = tasks[index].charge
        tasks[index] = replace(tasks[index], charge=Charge.of(price + before.price if before else price))
    return go(walk, tasks, route)


def _play_as_once(walk: Walk, route: Route, charged: Route, groups: Sequence[Group]) -> Route:
    """Each group takes the fingering of one of its comings for all, the cheapest for the whole song."""
    left = list(groups)
    while unlike := next((group for group in left if len(_patterns(route, group)) > 1), None):
        left.remove(unlike)
        patterns = dict.fromkeys([*_patterns(route, unlike), *_patterns(charged, unlike)])
        trials = [_with_pattern(walk, route, unlike, pattern) for pattern in patterns]
        route = min((trial for trial in trials if trial), key=lambda trial: trial.price, default=route)
    return route


def _patterns(route: Route, group: Group) -> list[tuple[Pin, ...]]:
    """The different fingerings of a group's stretches, in the order of their first coming."""
    grips = route.grips()
    played = (
        tuple(_pin(route.fronts[index].layer.ways, grips[index]) for index in stretch) for stretch in group
    )
    return list(dict.fromkeys(played))


def _with_pattern(walk: Walk, route: Route, group: Group, pattern: Sequence[Pin]) -> Route | None:
    """None if a stretch cannot be played so where it stands."""
    others = {
        index: ~_is_played(route.fronts[index].layer.ways, pin) * FORBIDDEN
        for stretch in group
        for index, pin in zip(stretch, pattern, strict=True)
    }
    try:
        return _with_charges(walk, route, others)
    except NoWayError:
        return None


def _pin(ways: Ways, grip: int) -> Pin:
    return tuple(ways.places[:, grip].tolist())


def _is_played(ways: Ways, pin: Pin) -> Flags:
    """Which grips are played so; they may differ in how a finger lies and where a free hand waits."""
    return np.asarray((ways.places == np.array(pin)[:, None]).all(axis=0))
