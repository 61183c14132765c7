"""How hard each bar is, why, and which bars to practise first."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from apoyando.model.arrangement import Arrangement
from apoyando.model.level import Level
from apoyando.model.song import Bar
from apoyando.teaching.points import FEWEST_HARD_BARS, MOST_HARD_BARS, RATES, THIRD_BAR_SHARE, Cause
from apoyando.teaching.troubles import Trouble, find_troubles


@dataclass(frozen=True, slots=True, kw_only=True)
class BarDifficulty:
    """One bar's difficulty in points (``points.RATES`` says what a point is), and its parts.

    ``index`` is the bar's place in the piece, ``bar`` its printed number. ``parts`` has every
    cause; a part is its rate times the sum of its amounts in the bar:

    - holds: fingers that stay × fingers set down meanwhile, over the bar's strokes;
    - stretch: how far past comfortable (0) towards the outermost (1), over the strokes;
    - shift: decimetres per second between positions;
    - barre: seconds × share of the strings covered;
    - speed: how many times faster than relaxed, less one, over the strokes;
    - reading: accidentals, and notes away from their easiest string.

    ``reasons`` tell of the worst place of each part that is not 0, heaviest part first.
    Law: no part is negative, and ``total`` is their sum, all to a hundredth.
    """

    index: int
    bar: str
    parts: Mapping[Cause, float]
    reasons: tuple[str, ...]

    @property
    def total(self) -> float:
        return round(sum(self.parts.values()), 2)


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
    troubles = find_troubles(arrangement, level, hand_size)
    return tuple(_measure_bar(bar, troubles) for bar in arrangement.bars)


def choose_hard_bars(difficulties: Sequence[BarDifficulty]) -> tuple[HardBar, ...]:
    """The two or three hardest bars, hardest first; fewer where no more are hard at all.

    A bar that comes again with the same difficulties is named once, at its first place.
    """
    hard: list[BarDifficulty] = []
    for each in sorted(difficulties, key=lambda each: (-each.total, each.index)):
        is_again = any((each.parts, each.reasons) == (other.parts, other.reasons) for other in hard)
        if each.total > 0 and not is_again:
            hard.append(each)
    shown = hard[:FEWEST_HARD_BARS]
    if shown:
        enough = THIRD_BAR_SHARE * shown[-1].total
        shown += [each for each in hard[FEWEST_HARD_BARS:MOST_HARD_BARS] if each.total >= enough]
    return tuple(_present(each) for each in shown)


def _measure_bar(bar: Bar, troubles: Mapping[Cause, tuple[Trouble, ...]]) -> BarDifficulty:
    inside = {
        cause: [trouble for trouble in found if bar.span.contains(trouble.onset)]
        for cause, found in troubles.items()
    }
    parts = {
        cause: round(RATES[cause].points * sum(trouble.amount for trouble in found), 2)
        for cause, found in inside.items()
    }
    heaviest_first = sorted((cause for cause in parts if parts[cause] > 0), key=lambda cause: -parts[cause])
    worst = (max(inside[cause], key=lambda trouble: trouble.amount) for cause in heaviest_first)
    return BarDifficulty(
        index=bar.index, bar=bar.number, parts=parts, reasons=tuple(trouble.words for trouble in worst)
    )


def _present(hard: BarDifficulty) -> HardBar:
    return HardBar(hard.index, hard.bar, hard.total, f"Bar {hard.bar}: {hard.reasons[0]}.")
