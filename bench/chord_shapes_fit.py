"""Fit the hand's prices to people's fingers, and say what that teaches about shapes not seen.

    python bench/chord_shapes_fit.py

Every way to finger each chord shape of the half that may be tuned on is listed once, with how
much of each price it pays; so a price list is judged by one product of matrices. A price list
gives each way of a shape its odds, and the loss of a shape is ``(1 - p**ROBUST) / ROBUST`` with p
the probability of people's fingers: between the logarithm (ROBUST = 0), by which single odd
shapes would rule, and the share that is wrong (1), which no slope leads down. Each pattern weighs
as the square root of its shapes. From there whole numbers, one price or two at a time. Fits on
nine tenths of the patterns tell what to expect of the tenth that they did not see. Nothing is
written; the other half is not read.
"""

import sys
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, fields, replace
from itertools import combinations, product
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt

sys.path.insert(0, str(Path(__file__).parents[1] / "tests"))

from apoyando.fingering import Slice
from apoyando.model.instrument import STANDARD_TUNING, Fret, Place, StringNumber
from apoyando.model.prices import Prices
from apoyando.reading import load_default_levels
from references.chord_shapes import QUARTERS, ChordShape, read_shapes
from references.plain_search import Press, World, hand_can, hand_price

LEVEL = load_default_levels()["advanced"]
FITTED = (
    "middle_finger",
    "ring_finger",
    "little_finger",
    "extension_per_fret",
    "extension_from_barre_per_fret",
    "contraction_per_fret",
    "crowded_by_barre_per_fret",
    "neighbour_to_treble_per_string",
    "ring_on_string_one",
    "barre_over_silent_string",
    "barre_beside_open_per_string",
    "small_barre_per_string",
    "small_barre_below_string",
)
KEPT = (
    "middle_beside_index",
    "lone_finger_off_its_fret",
    "stretch_beyond_comfort",
    "half_barre_kept_per_quarter",
    "full_barre_kept_per_quarter",
)
"""Prices of which arranging has more to say than single chords; they set the size of the others."""
NAMES = (*FITTED, *KEPT)
MIDDLE, RING, LITTLE = (FITTED.index(f"{name}_finger") for name in ("middle", "ring", "little"))
MOST_FOR_POSITION = 11
"""Fingers 2 and 4 together cost at most so much more than 1 and 3: dearer, and the scale of E major
leaves the first position for its last notes (``tests/fingering/test_handbook.py``)."""
UNIT = 1000
"""Large enough that nothing is lost by rounding."""
FOLDS = 10
SEEDS = (0, 1, 2, 3)
ROBUST = 0.5
SCALE = 1.8
"""Two ways that differ by so much in price differ by e in their odds."""
ROUNDS = 300
DECAY = 2e-6
"""Pulls each price towards nothing by how much ways differ in it: what teaches little stays small."""
STEPS = (-3, -2, -1, 1, 2, 3)

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]


@dataclass(frozen=True)
class Sample:
    """``rivals`` (R, prices): how much more of each price another way pays than people's; ``shape`` (R,).

    ``weight`` and ``is_right`` have an entry for each shape: people's way is possible at all.
    """

    rivals: Floats
    shape: Ints
    weight: Floats
    is_right: npt.NDArray[np.bool_]


def ways(shape: ChordShape) -> Iterator[tuple[int, ...]]:
    """Every way to finger a shape that the hand can do."""
    for fingers in product(*((1, 2, 3, 4) if fret else (0,) for _, fret in shape.places)):
        if hand_can(presses(shape, fingers), World(STANDARD_TUNING, LEVEL, Prices())):
            yield fingers


def presses(shape: ChordShape, fingers: Sequence[int]) -> list[Press]:
    flat = {finger for finger, count in Counter(fingers).items() if finger and count > 1}
    return [
        Press(0, Place(StringNumber(string), Fret(fret)), finger, finger in flat)
        for (string, fret), finger in zip(shape.places, fingers, strict=True)
    ]


def paid(shape: ChordShape, fingers: Sequence[int]) -> list[float]:
    """How much of each price a way pays."""
    nothing = Prices(**{field.name: 0 for field in fields(Prices)})
    moment = Slice(quarters=QUARTERS, seconds=QUARTERS, voices=())
    return [
        hand_price(
            presses(shape, fingers), moment, World(STANDARD_TUNING, LEVEL, replace(nothing, **{name: UNIT}))
        )
        / UNIT
        for name in NAMES
    ]


def take_sample(shapes: Sequence[ChordShape]) -> Sample:
    rows: list[Floats] = []
    index: list[int] = []
    is_right: list[bool] = []
    for number, shape in enumerate(shapes):
        all_ways = list(ways(shape))
        is_right.append(shape.fingers in all_ways)
        others = [way for way in all_ways if way != shape.fingers] if is_right[-1] else []
        theirs = np.array(paid(shape, shape.fingers))
        rows += [np.array(paid(shape, way)) - theirs for way in others]
        index += [number] * len(others)
    counts = Counter(shape.pattern for shape in shapes)
    weight = np.array([counts[shape.pattern] ** -0.5 for shape in shapes])
    return Sample(np.array(rows), np.array(index), weight / weight.sum(), np.array(is_right))


def worst(sample: Sample, prices: Floats) -> Floats:
    """By how much people's way is cheaper than the best other, for each shape."""
    margin = np.full(len(sample.weight), np.inf)
    np.minimum.at(margin, sample.shape, sample.rivals @ prices)
    return np.where(sample.is_right, margin, -np.inf)


def part(sample: Sample, chosen: npt.NDArray[np.bool_]) -> Sample:
    rows = chosen[sample.shape]
    return replace(
        sample, rivals=sample.rivals[rows], shape=sample.shape[rows], is_right=sample.is_right & chosen
    )


def fit(sample: Sample) -> Floats:
    """Adam on the logarithm first, for its slope leads everywhere, then on the loss."""
    price = np.zeros(len(NAMES))
    price[len(FITTED) :] = [getattr(Prices(), name) for name in KEPT]
    for robust in (0.0, ROBUST):
        slope, spread = np.zeros(len(NAMES)), np.zeros(len(NAMES))
        for step in range(1, ROUNDS + 1):
            pull = slope_of(sample, price, robust) + 2 * DECAY * sample.rivals.var(axis=0) * price
            pull[len(FITTED) :] = 0
            slope, spread = 0.9 * slope + 0.1 * pull, 0.99 * spread + 0.01 * pull**2
            move = slope / (1 - 0.9**step) / (np.sqrt(spread / (1 - 0.99**step)) + 1e-8)
            price = allowed(price - (1 - step / (ROUNDS + 1)) * move)
    return price


def allowed(price: Floats) -> Floats:
    """The nearest prices of which none is below nothing and position I stays what it is."""
    price = np.maximum(price, 0)
    over = max(price[MIDDLE] + price[LITTLE] - price[RING] - MOST_FOR_POSITION, 0)
    price[[MIDDLE, LITTLE, RING]] += np.array([-over, -over, over]) / 3
    return np.maximum(price, 0)


def odds(sample: Sample, price: Floats) -> tuple[Floats, Floats]:
    """Of each other way against people's, and of all ways of each shape together."""
    rivals = np.exp(np.clip(-(sample.rivals @ price) / SCALE, -40, 40))
    return rivals, np.asarray(1.0 + np.bincount(sample.shape, rivals, len(sample.weight)), dtype=np.float64)


def slope_of(sample: Sample, price: Floats, robust: float) -> Floats:
    rivals, total = odds(sample, price)
    weight = (sample.weight * sample.is_right * total ** (-robust - 1))[sample.shape]
    return sample.rivals.T @ (-rivals * weight) / SCALE


def loss(sample: Sample, price: Floats) -> float:
    _, total = odds(sample, price)
    decay = DECAY * float((sample.rivals.var(axis=0) * price**2).sum())
    return float((sample.weight * sample.is_right * (1 - total**-ROBUST)).sum() / ROBUST) + decay


def fit_whole(sample: Sample) -> Floats:
    """The nearest whole numbers, bettered by one price or two at a time while that helps."""
    price, best = allowed(np.rint(fit(sample))), np.inf
    price[MIDDLE] = max(min(price[MIDDLE], MOST_FOR_POSITION + price[RING] - price[LITTLE]), 0)
    while loss(sample, price) < best - 1e-6:
        best = loss(sample, price)
        trials = [price + move for move in moves()]
        price = min(
            (trial for trial in trials if np.array_equal(trial, allowed(trial))),
            key=lambda trial: loss(sample, trial),
        )
    return price


def moves() -> Iterator[Floats]:
    unit = np.eye(len(NAMES))[: len(FITTED)]
    yield np.zeros(len(NAMES))
    yield from (step * column for step in STEPS for column in unit)
    for one, other in combinations(unit, 2):
        yield from (one + other, one - other, other - one, -one - other)


def show(title: str, right: npt.NDArray[Any]) -> None:
    print(f"{title:58} {100 * float(np.mean(right)):.1f} %", flush=True)


def main() -> None:
    shapes = [shape for shape in read_shapes().distinct if not shape.is_held_out]
    sample = take_sample(shapes)
    now = np.array([getattr(Prices(), name) for name in NAMES], dtype=float)
    show(f"{len(shapes)} shapes that may be tuned on, prices as they stand", worst(sample, now) > 0)
    fitted = fit_whole(sample)
    show("fitted to all of them", worst(sample, fitted) > 0)
    print("    " + ", ".join(f"{name} {value:.0f}" for name, value in zip(FITTED, fitted, strict=False)))
    patterns = sorted({shape.pattern for shape in shapes})
    for seed in SEEDS:
        fold = dict(
            zip(patterns, np.random.default_rng(seed).permutation(len(patterns)) % FOLDS, strict=True)
        )
        folds = np.array([fold[shape.pattern] for shape in shapes])
        right = np.zeros(len(shapes))
        for number in range(FOLDS):
            unseen = folds == number
            right[unseen] = (worst(sample, fit(part(sample, ~unseen))) > 0)[unseen]
        show(f"fitted to nine tenths of the patterns, asked of the tenth ({seed})", right)


if __name__ == "__main__":
    main()
