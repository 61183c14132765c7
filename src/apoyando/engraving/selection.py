"""What of an arrangement a sheet shows: the rest is not there for those who lay it out."""

from dataclasses import replace

from apoyando.engraving.notation import NotatedScore, notate
from apoyando.model.arrangement import Arrangement
from apoyando.model.sheet import Sheet


def notate_for(sheet: Sheet, arrangement: Arrangement) -> NotatedScore:
    """The arrangement as written signs, without what the sheet does not want."""
    return notate(_wanted(arrangement, sheet))


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
