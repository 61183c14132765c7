"""The teaching room: how hard each bar is, which bars to practise first, how the voices lead, and the
lesson sheet that tells a student all of it.
"""

from apoyando.teaching.difficulty import (
    BarDifficulty,
    HardBar,
    choose_hard_bars,
    measure_difficulty,
    measure_points,
)
from apoyando.teaching.lesson import Studied, read_lesson_text, write_lesson, write_lesson_text
from apoyando.teaching.points import RATES, Cause
from apoyando.teaching.turns import find_turn_shifts
from apoyando.teaching.voice_leading import (
    MotionKind,
    NonChordTone,
    Stay,
    ToneKind,
    VoiceLeading,
    VoiceMotion,
    find_voice_leading,
    name_tone,
)

__all__ = [
    "RATES",
    "BarDifficulty",
    "Cause",
    "HardBar",
    "MotionKind",
    "NonChordTone",
    "Stay",
    "Studied",
    "ToneKind",
    "VoiceLeading",
    "VoiceMotion",
    "choose_hard_bars",
    "find_turn_shifts",
    "find_voice_leading",
    "measure_difficulty",
    "measure_points",
    "name_tone",
    "read_lesson_text",
    "write_lesson",
    "write_lesson_text",
]
