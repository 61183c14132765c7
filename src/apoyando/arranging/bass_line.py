"""The bass line from harmony to harmony: where another chord tone in the bass is craft, and where it is a loss.

The rules are those of any harmony text on the use of inversions (Kostka & Payne, *Tonal
Harmony*; from memory). ``docs/objective.md`` states them; the proofing room looks anew.

Conventions: a harmony lasts as long as its chord is the same, over barlines too. Notes are MIDI
numbers; a step is one or two semitones.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from apoyando.arranging.assembly import spell_in_chord
from apoyando.arranging.voice_leading import is_fifth, is_line_tone, is_seventh, is_step, is_wanted_bass
from apoyando.model.harmony import Chord


@dataclass(frozen=True, slots=True)
class BassStroke:
    """A bass as it is played. ``harmony`` counts the harmonies of the piece.

    ``is_entry``: the harmony enters here in its bar; not so a closing chord that is struck later.
    """

    note: int
    chord: Chord
    harmony: int
    is_entry: bool = True

    @property
    def name(self) -> str:
        return str(spell_in_chord(self.chord, self.note).name)

    @property
    def is_wanted(self) -> bool:
        return is_wanted_bass(self.chord, self.note)


def explain_inversion(strokes: Sequence[BassStroke], at: int) -> str:
    """What a bass that is not the one its chord asks for does for the line; "" where it does nothing.

    A bass that a slash names has a reason of its own, and no other takes its place for nothing.
    """
    if strokes[at].chord.bass:
        return ""
    return next(_reasons(strokes, at), "")


def _reasons(strokes: Sequence[BassStroke], at: int) -> Iterator[str]:
    here = strokes[at]
    before = strokes[at - 1] if at else None
    after = next((each for each in strokes[at + 1 :] if each.harmony > here.harmony), None)
    if after and after.harmony > here.harmony + 1:
        after = None
    is_in_line, is_seventh_here = is_line_tone(here.chord, here.note), is_seventh(here.chord, here.note)
    is_triad_tone = is_fifth(here.chord, here.note) or (is_in_line and not is_seventh_here)
    has_been_told = any(each.harmony == here.harmony and each.is_wanted for each in strokes[:at])
    if is_triad_tone and here.is_entry and has_been_told:
        yield f"{here.chord.root} has been in the bass of this harmony"
    if after is None:
        return
    if before and is_in_line and is_step(before.note, here.note) and is_step(here.note, after.note):
        yield f"the bass goes by step, {before.name}–{here.name}–{after.name}"
    if is_in_line and is_step(here.note, after.note) and (after.note < here.note) == is_seventh_here:
        yield f"the bass leads by step into the next chord, {here.name}–{after.name}"
    is_new = before is not None and before.harmony < here.harmony
    if before and is_new and before.note == here.note == after.note:
        yield f"the bass stays on {here.name} while the harmony moves over it"
    if is_fifth(here.chord, here.note) and here.note == after.note and after.is_wanted:
        yield f"the bass stays, {here.name}, and is that of the next chord"
