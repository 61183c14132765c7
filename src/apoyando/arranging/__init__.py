"""Which notes: the melody in its key and octave, the texture, bass and inner voice; and scores fingered."""

from apoyando.arranging.alternatives import Alternative, weigh_note, weigh_positions
from apoyando.arranging.arrange import arrange_in_key, pose_in_key
from apoyando.arranging.clashes import find_smallest_clash
from apoyando.arranging.key_choice import (
    KeyComparison,
    arrange_song,
    compare_keys,
    find_cheapest_setup,
    sketch_song,
)
from apoyando.arranging.key_reasons import explain_prices
from apoyando.arranging.keys import key_named, raised, transposition_to, twelve_keys
from apoyando.arranging.locks import lock_song
from apoyando.arranging.posed import PosedSong
from apoyando.arranging.ruler import Ruler
from apoyando.arranging.scores import Fingered, finger_score
from apoyando.arranging.setups import Setup, list_setups
from apoyando.arranging.tune_alone import finger_tune_alone

__all__ = [
    "Alternative",
    "Fingered",
    "KeyComparison",
    "PosedSong",
    "Ruler",
    "Setup",
    "arrange_in_key",
    "arrange_song",
    "compare_keys",
    "explain_prices",
    "find_cheapest_setup",
    "find_smallest_clash",
    "finger_score",
    "finger_tune_alone",
    "key_named",
    "list_setups",
    "lock_song",
    "pose_in_key",
    "raised",
    "sketch_song",
    "transposition_to",
    "twelve_keys",
    "weigh_note",
    "weigh_positions",
]
