"""The cores of the machine: work done side by side, or one thing beside another. No music in here."""

from apoyando.cores.helpers import begin_helpers, beside, side_by_side

__all__ = ["begin_helpers", "beside", "side_by_side"]
