"""What of an arrangement a sheet shows: the rest is not there for those who lay it out."""

from dataclasses import replace

from apoyando.engraving.notation.diagrams import list_diagrams
from apoyando.engraving.notation.hold_lines import choose_hold_lines
from apoyando.engraving.notation.score import NotatedScore, notate
from apoyando.model.arrangement import Arrangement
from apoyando.model.sheet import Sheet, Staves


def notate_for(sheet: Sheet, arrangement: Arrangement, *, has_melody: bool = True) -> NotatedScore:
    """The arrangement as written signs, without what the sheet does not want."""
    return _with_marks(notate(_wanted(arrangement, sheet), has_melody=has_melody), arrangement, sheet)


def notate_whole(sheet: Sheet, arrangement: Arrangement, *, has_melody: bool = True) -> NotatedScore:
    """All of the arrangement as written signs, whatever the sheet shows, and what it asks for besides."""
    return _with_marks(notate(arrangement, has_melody=has_melody), arrangement, sheet)


def _with_marks(score: NotatedScore, arrangement: Arrangement, sheet: Sheet) -> NotatedScore:
    """With chord diagrams and hold lines. Tablature alone has no hold lines."""
    held = choose_hold_lines(score.arrangement, are_wanted=sheet.hold_lines)
    return replace(
        score,
        diagrams=list_diagrams(arrangement, are_wanted=sheet.chord_diagrams),
        held=() if sheet.staves is Staves.TABLATURE else held,
        staves=sheet.staves,
    )


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
