"""Closing: where the tune comes to rest for good, or under a fermata, a chord is struck and held."""

from apoyando.arranging.texture.dues import BassDue, Laid
from apoyando.arranging.texture.ground import Ground
from apoyando.arranging.texture.sustained import sustain_over

_FULL = 3


def lay_closing(ground: Ground) -> Laid:
    """Bass and as full a chord as the level strikes at once; the bass tells the harmony once more."""
    bass = BassDue(ground.span, ground.chord, is_first=True)
    return Laid((bass,), sustain_over(ground, bass, _FULL))
