"""The melody made simpler, where the player or the level asks for it: same tune, easier rhythm.

The melody is cut into cells that begin on a beat. A cell that holds what is too quick, off
the grid of the shortest value, or syncopated is set anew: its notes, or those that carry the
line, begin at points of the grid, at the least price (``docs/simpler.md``). Phrase beginnings
and ends, long notes, and the highest and lowest note of each phrase stay.
"""

from apoyando.arranging.simplification.treatment import (
    Simplification,
    SimplifiedMelody,
    list_changes,
    simplify_melody,
)

__all__ = ["Simplification", "SimplifiedMelody", "list_changes", "simplify_melody"]
