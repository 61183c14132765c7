"""Voice leading: non-chord tones with their resolutions, and inner notes that move by step."""

from apoyando.teaching.voice_leading.finding import find_voice_leading
from apoyando.teaching.voice_leading.findings import (
    MotionKind,
    NonChordTone,
    Stay,
    ToneKind,
    VoiceLeading,
    VoiceMotion,
)
from apoyando.teaching.voice_leading.kinds import name_tone

__all__ = [
    "MotionKind",
    "NonChordTone",
    "Stay",
    "ToneKind",
    "VoiceLeading",
    "VoiceMotion",
    "find_voice_leading",
    "name_tone",
]
