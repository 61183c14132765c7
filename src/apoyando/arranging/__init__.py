"""Which notes: the melody in its key and octave, the texture, bass and inner voice; and scores fingered.

    Song ─preparation→ in the form that is wanted ─key_choice (keys, setups)→ one key ─arrange→ Arrangement

What ``arrange`` does in one key, in order:

    posing                       the song moved to the key and laid out, which is:
    simplification, melody       the tune, with an easier rhythm where that is asked for, in its new key
    texture                      when the accompaniment is struck, and in how many notes
    plot, voices, voice_leading  who may sound when, and what each note costs the ear
    slices, posed                the question for the search (``fingering``)
    solved                       the question asked with the player's locks on it, which is:
    locks, narrowing, clashes    what the player has settled, and what of it cannot be kept together
    assembly, losses             the search's answer as an arrangement, and what was given up
    limits, relief, easing       what asks more than the level has, made easier
    closing_harmonics, form      how the piece ends

Besides: ``alternatives`` (what else a note could be, and its price), ``key_prices`` and ``key_reasons`` (what a
key costs, and why more than another), ``scores`` (music that is there already).
"""

from apoyando.arranging.alternatives import Alternative, weigh_note, weigh_positions
from apoyando.arranging.arrange import arrange_in_key
from apoyando.arranging.clashes import find_smallest_clash
from apoyando.arranging.key_choice import (
    KeyComparison,
    arrange_song,
    compare_keys,
    find_cheapest_setup,
)
from apoyando.arranging.key_reasons import explain_prices
from apoyando.arranging.keys import key_named, raised, transposition_to, twelve_keys
from apoyando.arranging.locks import lock_song
from apoyando.arranging.posed import PosedSong
from apoyando.arranging.posing import pose_in_key
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
    "transposition_to",
    "twelve_keys",
    "weigh_note",
    "weigh_positions",
]
