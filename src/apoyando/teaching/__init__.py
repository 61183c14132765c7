"""The teaching room: how hard each bar is, why, and which bars to practise first."""

from apoyando.teaching.difficulty import BarDifficulty, HardBar, choose_hard_bars, measure_difficulty
from apoyando.teaching.points import RATES, Cause, Rate

__all__ = [
    "RATES",
    "BarDifficulty",
    "Cause",
    "HardBar",
    "Rate",
    "choose_hard_bars",
    "measure_difficulty",
]
