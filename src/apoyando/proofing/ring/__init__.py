"""How long each note of the accompaniment can ring, what ends it, and what would free it."""

from apoyando.proofing.ring.finding import find_rings

__all__ = ["find_rings"]
