"""The bass line from harmony to harmony: where another chord tone in the bass is craft, and where it is a loss.

The rules are those of any harmony text on the use of inversions (Kostka & Payne, *Tonal
Harmony*; from memory). ``docs/objective.md`` states them; the proofing room looks anew.

Conventions: a harmony lasts as long as its chord is the same, over barlines too. Notes are MIDI
numbers; a step is one or two semitones.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from apoyando.arranging.assembly import spell_in_chord
from apoyando.arranging.voice_leading import (
    is_fifth,
    is_line_tone,
    is_resolution,
    is_step,
    is_third_in_line,
    is_wanted_bass,
    leads_by_step,
)
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
    before = _find_before(strokes, at)
    after = next((each for each in strokes[at + 1 :] if each.harmony == here.harmony + 1), None)
    is_in_line, is_fifth_here = is_line_tone(here.chord, here.note), is_fifth(here.chord, here.note)
    is_third_here = is_third_in_line(here.chord, here.note)
    is_reached_by_step = before is not None and is_step(before.note, here.note)
    has_been_told = any(each.harmony == here.harmony and each.is_wanted for each in strokes[:at])
    if (is_third_here or is_fifth_here) and here.is_entry and has_been_told:
        yield f"{here.chord.root} has been in the bass of this harmony"
    if before and is_third_here and is_reached_by_step:
        is_change = before.harmony < here.harmony
        if is_change and is_resolution(before.chord, before.note, here.chord, here.note):
            yield f"the seventh in the bass falls by step, {before.name}–{here.name}"
        if any(each.harmony == here.harmony and each.is_wanted for each in strokes[at + 1 :]):
            yield f"the bass goes by step to {here.name}, and through the chord to {here.chord.root}"
    if after is None:
        return
    is_left_by_step = is_step(here.note, after.note)
    if before and (is_in_line or is_fifth_here) and is_reached_by_step and is_left_by_step:
        yield f"the bass goes by step, {before.name}–{here.name}–{after.name}"
    if is_left_by_step and leads_by_step(here.chord, here.note, after.note):
        yield f"the bass leads by step into the next chord, {here.name}–{after.name}"
    if before and before.harmony < here.harmony and before.note == here.note == after.note:
        yield f"the bass stays on {here.name} while the harmony moves over it"
    if is_fifth_here and here.note == after.note and after.is_wanted:
        yield f"the bass stays, {here.name}, and is that of the next chord"


def _find_before(strokes: Sequence[BassStroke], at: int) -> BassStroke | None:
    """The bass before a note that may have been struck several times in its harmony."""
    here = strokes[at]
    return next((each for each in reversed(strokes[:at]) if not _is_same(each, here)), None)


def _is_same(one: BassStroke, other: BassStroke) -> bool:
    return one.harmony == other.harmony and one.note == other.note
