"""The whole form: repeats written out, a wanted time by whole sections, introduction and ending."""

from apoyando.arranging.form.ending import HARMONICS, mark_ending, tell_ending
from apoyando.arranging.form.layout import lay_out_form
from apoyando.arranging.form.repeated_locks import lay_out_locks

__all__ = [
    "HARMONICS",
    "lay_out_form",
    "lay_out_locks",
    "mark_ending",
    "tell_ending",
]
