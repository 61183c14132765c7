"""Which notes: the melody in its key and octave, the texture, bass and inner voice."""

from apoyando.arranging.arrange import (
    KeyComparison,
    PosedSong,
    arrange_in_key,
    arrange_song,
    compare_keys,
    pose_in_key,
)
from apoyando.arranging.keys import key_named, transposition_to

__all__ = [
    "KeyComparison",
    "PosedSong",
    "arrange_in_key",
    "arrange_song",
    "compare_keys",
    "key_named",
    "pose_in_key",
    "transposition_to",
]
