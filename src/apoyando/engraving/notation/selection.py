"""What of an arrangement a sheet shows: the rest is not there for those who lay it out."""

from dataclasses import replace

from apoyando.engraving.notation.diagrams import choose_diagrams
from apoyando.engraving.notation.score import NotatedScore, notate
from apoyando.model.arrangement import Arrangement
from apoyando.model.sheet import Sheet


def notate_for(sheet: Sheet, arrangement: Arrangement, *, has_melody: bool = True) -> NotatedScore:
    """The arrangement as written signs, without what the sheet does not want."""
    return _with_diagrams(notate(_wanted(arrangement, sheet), has_melody=has_melody), arrangement, sheet)


def notate_whole(sheet: Sheet, arrangement: Arrangement) -> NotatedScore:
    """All of the arrangement as written signs, whatever the sheet shows, and the diagrams that it asks for."""
    return _with_diagrams(notate(arrangement), arrangement, sheet)


def _with_diagrams(score: NotatedScore, arrangement: Arrangement, sheet: Sheet) -> NotatedScore:
    return replace(score, diagrams=choose_diagrams(arrangement)) if sheet.chord_diagrams else score


def _wanted(arrangement: Arrangement, sheet: Sheet) -> Arrangement:
    notes = arrangement.notes
    if not sheet.lyrics:
        notes = tuple(replace(note, lyrics=()) if note.lyrics else note for note in notes)
    return replace(
        arrangement,
        notes=notes,
        harmony=arrangement.harmony if sheet.chord_symbols else (),
        dynamics=arrangement.dynamics if sheet.dynamics else (),
    )
