"""The pages that one plan gives: the piece, its melody, its accompaniment, what is held in it.

All of them have the places and the fingers of the whole piece, so that what is practised
apart fits together. The melody is printed large unless the player has chosen a size. A
barre whose notes are not all there stays marked where two strings of it are left; a single
note that is left of it has its finger instead.
"""

from collections.abc import Iterable
from dataclasses import replace

from apoyando.engraving.notation.kept import Kept, keep_notes
from apoyando.engraving.notation.score import NotatedScore
from apoyando.engraving.notation.selection import notate_for, notate_whole
from apoyando.model.arrangement import Arrangement, Barre, Note, Role
from apoyando.model.dynamics import Layer
from apoyando.model.ring import Ring
from apoyando.model.sheet import Sheet, Variant

LARGE_STAFF_MM = 9.5
"""Read at arm's length and more (common practice, no source)."""
NAMES = {Variant.MELODY: "melody", Variant.ACCOMPANIMENT: "accompaniment", Variant.HOLDS: "what stays down"}
"""What the title says besides."""
_ROLES = {Variant.MELODY: (Role.MELODY,), Variant.ACCOMPANIMENT: (Role.BASS, Role.INNER)}
_LAYERS = {
    Variant.MELODY: (Layer.ALL, Layer.MELODY),
    Variant.ACCOMPANIMENT: (Layer.ALL, Layer.ACCOMPANIMENT),
}


def choose_variant(
    arrangement: Arrangement, sheet: Sheet, variant: Variant, rings: Iterable[Ring] = ()
) -> tuple[NotatedScore, Sheet]:
    """What is to be printed, and on what sheet. ``rings`` are those of the proof, for the holds alone."""
    if variant is Variant.MELODY:
        sheet = replace(sheet, staff_mm=sheet.staff_mm or LARGE_STAFF_MM, chord_diagrams=False)
    layer = _name_layer(arrangement, variant)
    score = notate_for(sheet, layer, has_melody=variant is not Variant.ACCOMPANIMENT)
    return replace(score, kept=_keep(arrangement, variant, rings)), sheet


def notate_variant(
    arrangement: Arrangement, sheet: Sheet, variant: Variant, rings: Iterable[Ring] = ()
) -> NotatedScore:
    """All of a variant as written signs, whatever the sheet shows, and what it asks for besides."""
    layer = _name_layer(arrangement, variant)
    score = notate_whole(sheet, layer, has_melody=variant is not Variant.ACCOMPANIMENT)
    return replace(score, kept=_keep(arrangement, variant, rings))


def _keep(arrangement: Arrangement, variant: Variant, rings: Iterable[Ring]) -> tuple[Kept, ...]:
    return keep_notes(arrangement, rings) if variant is Variant.HOLDS else ()


def _name_layer(arrangement: Arrangement, variant: Variant) -> Arrangement:
    layer = choose_layer(arrangement, variant)
    return replace(layer, title=name_variant(layer.title, variant))


def name_variant(title: str, variant: Variant) -> str:
    """``Greensleeves – melody``: the title of a page that is not the whole score."""
    return " – ".join(part for part in (title, NAMES.get(variant, "")) if part)


def choose_layer(arrangement: Arrangement, variant: Variant) -> Arrangement:
    """The arrangement with the notes of a variant alone, and the barres that are left of it."""
    if variant not in _ROLES:
        return arrangement
    notes = arrangement.voice(*_ROLES[variant])
    barres = tuple(barre for barre in arrangement.barres if _still_lies(barre, notes))
    lying = (replace(n, in_barre=n.in_barre and any(_covers(b, n) for b in barres)) for n in notes)
    dynamics = tuple(d for d in arrangement.dynamics if d.layer in _LAYERS[variant])
    diagrams = () if variant is Variant.MELODY else arrangement.diagrams
    return replace(arrangement, notes=tuple(lying), barres=barres, dynamics=dynamics, diagrams=diagrams)


def _still_lies(barre: Barre, notes: Iterable[Note]) -> bool:
    """Whether two strings or more of a barre are still played."""
    return len({note.place.string for note in notes if _covers(barre, note)}) > 1


def _covers(barre: Barre, note: Note) -> bool:
    is_under = note.place.string in barre.strings and note.place.fret == barre.fret
    return is_under and note.finger is barre.finger and note.span.overlaps(barre.span)
