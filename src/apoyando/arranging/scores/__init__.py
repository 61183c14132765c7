"""Scores that are written already: fingered, and eased where no hand can do what is written."""

from apoyando.arranging.scores.fingered import Fingered, finger_score

__all__ = ["Fingered", "finger_score"]
