"""Chords for music that has none written: our own analysis of all that sounds.

    notes ─figuration→ weights ─evidence→ cells ─keys→ the key of each bar
                                            └─decoding (with templates)→ chords ─naming→ symbols

Door: ``find_chords``. Every weight stands in ``weights``.
"""

from apoyando.reading.harmony.finding import find_chords

__all__ = ["find_chords"]
