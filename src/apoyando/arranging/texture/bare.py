"""Bare: the tune and its bass, and nothing between them."""

from apoyando.arranging.texture.dues import Laid
from apoyando.arranging.texture.ground import Ground, basses, strong_onsets


def lay_bare(ground: Ground) -> Laid:
    return Laid(basses(ground, strong_onsets(ground)))
