"""Where the hands go: the search over the left hand's grips, and the right hand's fingers.

Problem ─layers→ every grip of every slice ─transitions→ fronts: the best ways so far ─→ Solution

problem, solution           what is asked, and what is answered
touches, hand_tables        one finger at one place; what two of them cost
grips, postures             all that the hand does in one slice
moves, transitions, held    from grip to grip (addends: how their prices are added up)
fronts, route               the search itself, and a search kept for the next question
alike                       what comes again played alike
right_hand, plucking        which finger plucks
"""

from apoyando.fingering.alike import PROOF_ROUNDS
from apoyando.fingering.problem import (
    FORBIDDEN,
    NOWHERE,
    SILENT,
    UNRESTRICTED,
    Candidate,
    Interplay,
    NoWayError,
    Problem,
    Restriction,
    Slice,
    Succession,
    Table,
    VoiceSlice,
)
from apoyando.fingering.right_hand import Stroke, choose_plucks
from apoyando.fingering.search import find_best_way
from apoyando.fingering.searcher import Searcher
from apoyando.fingering.solution import Chosen, ChosenSlice, Solution
from apoyando.fingering.touches import Touch

__all__ = [
    "FORBIDDEN",
    "NOWHERE",
    "PROOF_ROUNDS",
    "SILENT",
    "UNRESTRICTED",
    "Candidate",
    "Chosen",
    "ChosenSlice",
    "Interplay",
    "NoWayError",
    "Problem",
    "Restriction",
    "Searcher",
    "Slice",
    "Solution",
    "Stroke",
    "Succession",
    "Table",
    "Touch",
    "VoiceSlice",
    "choose_plucks",
    "find_best_way",
]
