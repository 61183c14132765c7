"""Fit the hand's prices to people's fingers, and say what that teaches about shapes not seen.

    python bench/chord_shapes_fit.py

Every way to finger each chord shape of the half that may be tuned on is listed once, with how
much of each price it pays; so a price list is judged by one product of matrices. A fit has two
parts: a logistic choice among the ways of a shape (softmax; each pattern weighs as the square
root of its shapes), and from there whole numbers, one price after the other, for a smooth count
of the shapes in which people's fingers are cheapest. Fits on four fifths of the patterns tell
what to expect of the fifth that they did not see. Nothing is written; the other half is not read.
"""

import sys
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, fields, replace
from itertools import product
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
    "skipped_string",
    "ring_on_string_one",
    "barre_for_two_apart",
    "barre_beside_open_per_string",
    "small_barre_per_string",
    "small_barre_beside_finger",
    "small_barre_below_string",
)
KEPT = (
    "finger_pressed",
    "stretch_beyond_comfort",
    "half_barre_kept_per_quarter",
    "full_barre_kept_per_quarter",
)
"""Prices of which arranging has more to say than single chords."""
NAMES = (*FITTED, *KEPT)
UNIT = 1000
"""Large enough that nothing is lost by rounding."""
FOLDS = 5
SEEDS = (0, 1, 2)
SCALE = 7
"""From logits to prices: the fitted come out in the size of those that are kept."""
SOFTNESS = 2.0
"""A shape whose fingers are cheapest by this much counts as three quarters of one."""
STEPS = (-6, -3, -2, -1, 1, 2, 3, 6)

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


def fit_logits(sample: Sample, rounds: int = 150) -> Floats:
    """Adam on the softmax loss; no price below nothing."""
    price = np.zeros(len(NAMES))
    slope, spread = np.zeros(len(NAMES)), np.zeros(len(NAMES))
    for step in range(1, rounds + 1):
        odds = np.exp(-np.clip(sample.rivals @ price, -40, 40))
        total = 1 + np.bincount(sample.shape, odds, len(sample.weight))
        pull = sample.rivals.T @ (-odds / total[sample.shape] * sample.weight[sample.shape])
        pull += 0.001 * price
        slope, spread = 0.9 * slope + 0.1 * pull, 0.99 * spread + 0.01 * pull**2
        move = slope / (1 - 0.9**step) / (np.sqrt(spread / (1 - 0.99**step)) + 1e-8)
        price = np.maximum(price - 0.1 * (1 - step / (rounds + 1)) * move, 0)
    return price


def fit(sample: Sample) -> Floats:
    """Whole-numbered prices, those of KEPT as they stand."""
    price = np.rint(fit_logits(sample) * SCALE)
    price[len(FITTED) :] = [getattr(Prices(), name) for name in KEPT]
    best = smooth_count(sample, price)
    for _ in range(8):
        before = best
        for column in range(len(FITTED)):
            for step in STEPS:
                trial = price.copy()
                trial[column] = max(trial[column] + step, 0)
                count = smooth_count(sample, trial)
                if count > best:
                    best, price = count, trial
        if best - before < 1e-6:
            break
    return price


def smooth_count(sample: Sample, price: Floats) -> float:
    margin = np.clip(worst(sample, price) / SOFTNESS, -30, 30)
    return float((sample.weight / (1 + np.exp(-margin))).sum())


def show(title: str, right: npt.NDArray[Any]) -> None:
    print(f"{title:58} {100 * float(np.mean(right)):.1f} %", flush=True)


def main() -> None:
    shapes = [shape for shape in read_shapes().distinct if not shape.is_held_out]
    sample = take_sample(shapes)
    now = np.array([getattr(Prices(), name) for name in NAMES], dtype=float)
    show(f"{len(shapes)} shapes that may be tuned on, prices as they stand", worst(sample, now) > 0)
    fitted = fit(sample)
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
        show(f"fitted to four fifths of the patterns, asked of the fifth ({seed})", right)


if __name__ == "__main__":
    main()
