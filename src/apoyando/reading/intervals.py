"""Transpositions given in semitones, spelled."""

from apoyando.model.pitch import Interval

_SCALE_FIFTHS = (0, 2, 4, -1, 1, 3, 5)
_SCALE_SEMITONES = (0, 2, 4, 5, 7, 9, 11)
_USUAL_STEPS = (0, 1, 1, 2, 2, 3, 3, 4, 5, 5, 6, 6)
"""The staff steps of so many semitones up: the spelling in most use (common practice, no source)."""


def spell_interval(semitones: int, steps: int | None = None) -> Interval:
    """The interval of so many semitones over so many staff steps (a second is one step up).

    Without steps, or with steps that are more than a semitone off, the usual spelling.
    """
    octave, step = divmod(_usual_steps(semitones) if steps is None else steps, 7)
    alter = semitones - 12 * octave - _SCALE_SEMITONES[step]
    if abs(alter) > 1:
        return spell_interval(semitones)
    return Interval(_SCALE_FIFTHS[step] + 7 * alter, semitones)


def _usual_steps(semitones: int) -> int:
    octave, rest = divmod(semitones, 12)
    return 7 * octave + _USUAL_STEPS[rest]
