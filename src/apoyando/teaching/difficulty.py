"""How hard each bar is, why, and which bars to practise first."""

from collections.abc import Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass

from apoyando.model.arrangement import Arrangement, Note
from apoyando.model.level import Level
from apoyando.model.song import Bar, bar_at
from apoyando.teaching.passage import Trouble
from apoyando.teaching.points import (
    FEWEST_HARD_BARS,
    HARD_POINTS,
    MOST_HARD_BARS,
    RATES,
    SECOND_REASON_SHARE,
    THIRD_BAR_SHARE,
    Cause,
)
from apoyando.teaching.troubles import find_troubles
from apoyando.teaching.wording import join_words


@dataclass(frozen=True, slots=True, kw_only=True)
class BarDifficulty:
    """One bar's difficulty in points (``points.RATES`` says what a point is), and its parts.

    ``index`` is the bar's place in the piece, ``bar`` its printed number; ``first_alike`` is
    the index of the first bar with the same notes and fingers, its own where none came before.
    ``parts`` has every cause; a part is its rate times the sum of its amounts in the bar:

    - holds: fingers that stay × fingers set down meanwhile, over the bar's strokes;
    - stretch: how far past comfortable (0) towards the outermost (1), over the strokes;
    - shift: decimetres per second between positions;
    - barre: quarters, and two where it is laid, × share of the strings covered;
    - speed: how many times faster than relaxed, less one, over the strokes;
    - reading: accidentals, notes away from their easiest string, ledger lines, signature.

    ``reasons`` tell of the worst place of each part that is not 0, heaviest part first.
    Law: no part is negative, and ``total`` is their sum, all to a hundredth.
    """

    index: int
    bar: str
    first_alike: int
    parts: Mapping[Cause, float]
    reasons: tuple[str, ...]

    @property
    def total(self) -> float:
        return _add_up(self.parts)


@dataclass(frozen=True, slots=True)
class HardBar:
    """A bar to practise first, with one sentence that says what is hard in it."""

    index: int
    bar: str
    difficulty: float
    sentence: str


def measure_difficulty(
    arrangement: Arrangement, level: Level, hand_size: float = 1.0
) -> tuple[BarDifficulty, ...]:
    """The difficulty of every bar, in order. What begins in a bar counts there.

    ``hand_size`` scales the level's spans, as in proofing. An arrangement without bars
    gives an empty tuple.
    """
    if not arrangement.bars:
        return ()
    inside = _sort_by_bars(arrangement, level, hand_size)
    alike = _find_alike(arrangement)
    return tuple(_measure_bar(bar, alike[bar.index], inside[bar.index]) for bar in arrangement.bars)


def measure_points(arrangement: Arrangement, level: Level, hand_size: float = 1.0) -> tuple[float, ...]:
    """The ``total`` of every bar alone: a piece is measured many times while it is made."""
    if not arrangement.bars:
        return ()
    inside = _sort_by_bars(arrangement, level, hand_size)
    return tuple(_add_up(_weigh_parts(found)) for found in inside)


_Inside = Mapping[Cause, Sequence[Trouble]]
"""What is hard in a bar."""


def _sort_by_bars(arrangement: Arrangement, level: Level, hand_size: float) -> Sequence[_Inside]:
    bars = arrangement.bars
    inside: list[dict[Cause, list[Trouble]]] = [{cause: [] for cause in Cause} for _ in bars]
    for cause, found in find_troubles(arrangement, level, hand_size).items():
        for trouble in found:
            inside[bar_at(bars, trouble.onset).index][cause].append(trouble)
    return inside


def _find_alike(arrangement: Arrangement) -> list[int]:
    """For each bar the first in which the same notes begin, at the same places with the same fingers."""
    played: list[set[Hashable]] = [set() for _ in arrangement.bars]
    for note in arrangement.notes:
        bar = bar_at(arrangement.bars, note.onset)
        played[bar.index].add(_as_played(note, bar))
    first: dict[Hashable, int] = {}
    return [first.setdefault(frozenset(notes), index) for index, notes in enumerate(played)]


def _as_played(note: Note, bar: Bar) -> Hashable:
    return note.onset - bar.onset, note.duration, note.place, note.finger, note.in_barre


def _weigh_parts(inside: _Inside) -> dict[Cause, float]:
    return {
        cause: round(RATES[cause].points * sum(trouble.amount for trouble in found), 2)
        for cause, found in inside.items()
    }


def _add_up(parts: Mapping[Cause, float]) -> float:
    return round(sum(parts.values()), 2)


def _measure_bar(bar: Bar, first_alike: int, inside: _Inside) -> BarDifficulty:
    parts = _weigh_parts(inside)
    heaviest_first = sorted((cause for cause in parts if parts[cause] > 0), key=lambda cause: -parts[cause])
    worst = (max(inside[cause], key=lambda trouble: trouble.amount) for cause in heaviest_first)
    return BarDifficulty(
        index=bar.index,
        bar=bar.number,
        first_alike=first_alike,
        parts=parts,
        reasons=tuple(trouble.tell() for trouble in worst),
    )


def choose_hard_bars(
    difficulties: Sequence[BarDifficulty], least_points: float = HARD_POINTS
) -> tuple[HardBar, ...]:
    """The two or three hardest bars, hardest first; fewer, or none, where no more are hard.

    A bar is hard from ``least_points`` on, which are more than 0.

    Of bars that are the same only the hardest is shown, and so of bars with one and the same
    reason; the sentence names the others that are the same.
    """
    hard: list[BarDifficulty] = []
    for each in sorted(difficulties, key=lambda each: (-each.total, each.index)):
        is_told = any(
            each.first_alike == other.first_alike or each.reasons[:1] == other.reasons[:1] for other in hard
        )
        if each.total >= least_points and not is_told:
            hard.append(each)
    shown = hard[:FEWEST_HARD_BARS]
    if shown:
        enough = THIRD_BAR_SHARE * shown[-1].total
        shown += [each for each in hard[FEWEST_HARD_BARS:MOST_HARD_BARS] if each.total >= enough]
    return tuple(_present(each, difficulties) for each in shown)


def _present(hard: BarDifficulty, difficulties: Iterable[BarDifficulty]) -> HardBar:
    first, *others = _heavy_reasons(hard)
    why = "; and ".join([first, *others])
    again = [each.bar for each in difficulties if each.first_alike == hard.first_alike and each is not hard]
    return HardBar(hard.index, hard.bar, hard.total, f"Bar {hard.bar}: {why}.{_name_again(again)}")


def _heavy_reasons(hard: BarDifficulty) -> tuple[str, ...]:
    """The heaviest reason, and the second if it weighs nearly as much."""
    points = sorted(hard.parts.values(), reverse=True)
    has_second = points[1] >= SECOND_REASON_SHARE * points[0]
    return hard.reasons[: 2 if has_second else 1]


def _name_again(bars: Sequence[str]) -> str:
    if not bars:
        return ""
    return (
        f" Bar{'s' if len(bars) > 1 else ''} {join_words(bars)} {'are' if len(bars) > 1 else 'is'} the same."
    )
