"""Tuning and capo in words, alike on the page and in the file."""

from apoyando.engraving.notation.chord_symbols import print_name
from apoyando.model.hand import roman
from apoyando.model.instrument import STANDARD_TUNING, STRINGS, Tuning
from apoyando.model.pitch import PitchName

CIRCLED = "①②③④⑤⑥"


def tuning_notes(tuning: Tuning) -> tuple[str, ...]:
    """``⑥ = D`` for every string that is not tuned as usual, lowest string first."""
    return tuple(
        f"{CIRCLED[string - 1]} = {_note_name(tuning.open_note(string))}"
        for string in reversed(STRINGS)
        if tuning.open_note(string) != STANDARD_TUNING.open_note(string)
    )


def _note_name(note: int) -> str:
    names = {
        PitchName.from_fifths(fifths).pitch_class: PitchName.from_fifths(fifths) for fifths in range(-4, 8)
    }
    return print_name(names[note % 12])


def capo_note(capo: int) -> str:
    """``Capo II``, or nothing without one."""
    return f"Capo {roman(capo)}" if capo else ""
