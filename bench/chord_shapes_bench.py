"""Ask the hand model for the fingers of chord shapes that people have fingered.

    python bench/chord_shapes_bench.py

Prints what of the source contradicts itself, which shapes the hand model does not admit at
``advanced``, and how often the search, given the frets alone, takes the fingers that people
wrote: on the half of the patterns that the prices were tuned on, and on the other half.
``bench/chord_shapes_fit.py`` fits the prices.
"""

import sys
from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from enum import StrEnum
from pathlib import Path

import numpy as np

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
CEILING = f"""
How many shapes have the fingers of people who are known, and how many the search's. Known is what
most people write for the pattern elsewhere on the neck; of a pattern that comes once, what they
write for the same stopped strings among other open ones, where there is such a shape.
{"":14} {"pattern":28} {"patterns":>8} {"shapes":>7} {"people":>8} {"search":>8}"""


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


def share(part: float, whole: int) -> str:
    return f"{100 * part / max(whole, 1):.1f} %"


def by_pattern(answers: Iterable[Answer]) -> Mapping[tuple[int, ...], list[Answer]]:
    """The shapes of each pattern, wherever it lies on the neck."""
    patterns: defaultdict[tuple[int, ...], list[Answer]] = defaultdict(list)
    for answer in answers:
        patterns[answer.shape.pattern].append(answer)
    return patterns


def written(those: Iterable[Answer]) -> Counter[tuple[int, ...]]:
    return Counter(answer.shape.fingers for answer in those)


def guessed(those: Sequence[Answer]) -> float:
    """How many shapes of a pattern have the fingers that most of its others have; a tie counts in part."""
    right = 0.0
    for answer in those:
        others = written(those)
        others[answer.shape.fingers] -= 1
        most = [fingers for fingers, count in others.items() if count == max(others.values())]
        right += (answer.shape.fingers in most) / len(most)
    return right


def alike(patterns: Mapping[tuple[int, ...], Sequence[Answer]]) -> tuple[float, int]:
    """Of the shapes alone in their pattern whose stopped strings are those of another pattern too:
    how many have the fingers of most of those, and how many there are."""
    stopped: defaultdict[tuple[int, ...], list[Answer]] = defaultdict(list)
    for pattern, those in patterns.items():
        stopped[tuple(max(fret, 0) for fret in pattern)] += those
    right, count = 0.0, 0
    for pattern, those in patterns.items():
        others = [a for a in stopped[tuple(max(fret, 0) for fret in pattern)] if a.shape.pattern != pattern]
        if len(those) == 1 and others:
            counts = Counter(map(pressed, others))
            most = [fingers for fingers, number in counts.items() if number == max(counts.values())]
            right, count = right + (pressed(those[0]) in most) / len(most), count + 1
    return right, count


def pressed(answer: Answer) -> tuple[int, ...]:
    return tuple(finger for finger in answer.shape.fingers if finger)


class Company(StrEnum):
    """Whether people's fingers for a pattern can be compared."""

    ONE_WAY = "again, fingered in one way"
    TWO_WAYS = "again, in two ways or more"
    ALONE = "once"


def company(those: Sequence[Answer]) -> Company:
    if len(those) == 1:
        return Company.ALONE
    return Company.TWO_WAYS if len(written(those)) > 1 else Company.ONE_WAY


def show_ceiling(name: str, answers: Sequence[Answer]) -> None:
    """What people wrote for a pattern, as a measure of what can be known, beside the search."""
    patterns = by_pattern(answers)
    rows: dict[Company, list[list[Answer]]] = {kind: [] for kind in Company}
    for those in patterns.values():
        rows[company(those)].append(those)
    like, compared = alike(patterns)
    alone = len(rows[Company.ALONE])
    known = {kind: sum(map(guessed, rows[kind])) for kind in (Company.ONE_WAY, Company.TWO_WAYS)}
    known[Company.ALONE] = like / compared * alone
    for kind, row in rows.items():
        show_row(name, kind, row, known[kind])
    show_row(
        name,
        f"all (± {spread(list(patterns.values()))} by pattern)",
        list(patterns.values()),
        sum(known.values()),
    )


def show_row(name: str, kind: str, patterns: Sequence[Sequence[Answer]], known: float) -> None:
    shapes = sum(map(len, patterns))
    agreed = sum(answer.agrees for those in patterns for answer in those)
    print(
        f"{name:14} {kind:28} {len(patterns):8} {shapes:7} {share(known, shapes):>8} {share(agreed, shapes):>8}"
    )


def spread(patterns: Sequence[Sequence[Answer]]) -> str:
    """The standard error of the share that agrees, were other patterns drawn."""
    right = np.array([sum(answer.agrees for answer in those) for those in patterns])
    size = np.array([len(those) for those in patterns])
    drawn = np.random.default_rng(0).integers(0, len(size), (2000, len(size)))
    return f"{100 * np.std(right[drawn].sum(axis=1) / size[drawn].sum(axis=1)):.1f}"


class Difference(StrEnum):
    """In what the search differs from people; the first that holds."""

    NOT_ADMITTED = "people's fingers cannot lie so"
    AMONG_PEOPLE = "most people write otherwise for the pattern, or half of them"
    BARRE_OF_PEOPLE = "people lay more strings under flat fingers"
    BARRE_OF_SEARCH = "the search lays more strings under flat fingers"
    INDEX_FREE = "people leave finger 1 free beside open strings"
    OTHER = "other fingers, as many of them flat"


def difference(answer: Answer, those: Sequence[Answer]) -> Difference:
    if answer.people_price is None or answer.fingers is None:
        return Difference.NOT_ADMITTED
    counts = written(those)
    if 2 * counts[answer.shape.fingers] <= counts.total():
        return Difference.AMONG_PEOPLE
    people, ours = flat_strings(answer.shape.fingers), flat_strings(answer.fingers)
    if people != ours:
        return Difference.BARRE_OF_PEOPLE if people > ours else Difference.BARRE_OF_SEARCH
    if 0 in answer.shape.fingers and 1 in answer.fingers and 1 not in answer.shape.fingers:
        return Difference.INDEX_FREE
    return Difference.OTHER


def flat_strings(fingers: Sequence[int]) -> int:
    return sum(fingers.count(finger) - 1 for finger in set(fingers) - {0})


def show_kinds(answers: Sequence[Answer]) -> None:
    patterns = by_pattern(answers)
    kinds = Counter(difference(a, patterns[a.shape.pattern]) for a in answers if not a.agrees)
    print("\nthe differences on the tuned half:")
    for kind in Difference:
        print(f"    {kinds[kind]:3}  {kind}")


def majority(answers: Iterable[Answer]) -> str:
    """How often people agree with what most of them write for the pattern."""
    counts = [written(those) for those in by_pattern(answers).values()]
    return share(sum(max(those.values()) for those in counts), sum(those.total() for those in counts))


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
    print(f"people with most people, wherever the pattern lies: {majority(answers['all'])}")
    print(CEILING)
    for name, those in answers.items():
        show_ceiling(name, those)
    show_kinds(answers["tuned on"])
    show_differences(answers["tuned on"])


if __name__ == "__main__":
    main()
