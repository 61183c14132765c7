"""Ask the hand model for the fingers of chord shapes that people have fingered.

    python bench/chord_shapes_bench.py

Prints what of the source contradicts itself, which shapes the hand model does not admit at
``advanced``, and how often the search, given the frets alone, takes the fingers that people
wrote: on the half of the patterns that the prices were tuned on, and on the other half.
``bench/chord_shapes_fit.py`` fits the prices.
"""

import sys
from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "tests"))

from apoyando.model.prices import Prices
from apoyando.reading import load_default_levels
from references.chord_shapes import (
    Answer,
    ChordShape,
    Obstacle,
    ShapeBook,
    ask_fingers,
    find_obstacle,
    read_shapes,
)

LEVEL = load_default_levels()["advanced"]
SHOWN = 12


def show_source(book: ShapeBook) -> None:
    print(f"{len(book.shapes)} shapes, {len(book.distinct)} of them distinct")
    print(f"{len(book.faults)} contradict themselves:")
    for name, fault in book.faults.items():
        print(f"    {name:14} {fault}")


def show_obstacles(shapes: Iterable[ChordShape]) -> None:
    kept_out: defaultdict[Obstacle, list[str]] = defaultdict(list)
    for shape in shapes:
        obstacle = find_obstacle(shape, LEVEL)
        if obstacle:
            kept_out[obstacle].append(shape.name)
    print(f"\n{sum(map(len, kept_out.values()))} are not admitted at {LEVEL.name}:")
    for obstacle, names in kept_out.items():
        print(f"    {obstacle}: {', '.join(names)}")


def show_agreement(name: str, answers: Sequence[Answer]) -> None:
    rest = [answer for answer in answers if not answer.agrees]
    savings = [answer.saves for answer in rest if answer.saves is not None]
    print(
        f"{name:14} {len(answers):6} {share(len(answers) - len(rest), len(answers)):>8} "
        f"{share(sum(saves >= 0 for saves in savings), len(rest)):>10} "
        f"{share(savings.count(0), len(rest)):>8}"
    )


def share(part: int, whole: int) -> str:
    return f"{100 * part / max(whole, 1):.1f} %"


def majority(shapes: Iterable[ChordShape]) -> str:
    """How often people agree with what most of them write for the pattern."""
    written: defaultdict[tuple[int, ...], Counter[tuple[int, ...]]] = defaultdict(Counter)
    for shape in shapes:
        written[shape.pattern][shape.fingers] += 1
    return share(
        sum(max(fingers.values()) for fingers in written.values()),
        sum(fingers.total() for fingers in written.values()),
    )


def show_differences(answers: Iterable[Answer]) -> None:
    differing = Counter((a.shape.pattern, a.shape.fingers, a.fingers) for a in answers if not a.agrees)
    print(f"\nthe {SHOWN} patterns that most often differ (frets from string 6 to string 1, x silent):")
    for (pattern, people, ours), count in differing.most_common(SHOWN):
        frets = "".join("x" if fret < 0 else str(fret) for fret in pattern)
        print(f"    {count:3} times  {frets:8} people {spaced(people):12} search {spaced(ours or ())}")


def spaced(fingers: Iterable[int]) -> str:
    return "".join(map(str, fingers))


def main() -> None:
    book, prices = read_shapes(), Prices()
    show_source(book)
    show_obstacles(book.shapes)
    training = [shape for shape in book.distinct if not shape.is_held_out]
    held_out = [shape for shape in book.distinct if shape.is_held_out]
    halves = {"tuned on": training, "held out": held_out, "all": list(book.distinct)}
    answers = {name: [ask_fingers(s, LEVEL, prices) for s in shapes] for name, shapes in halves.items()}
    print(f"\n{'':14} {'shapes':>6} {'same':>8} {'no dearer':>10} {'alike':>8}   (of the rest: priced so)")
    for name, those in answers.items():
        show_agreement(name, those)
    print(f"people with most people, wherever the pattern lies: {majority(book.distinct)}")
    show_differences(answers["tuned on"])


if __name__ == "__main__":
    main()
