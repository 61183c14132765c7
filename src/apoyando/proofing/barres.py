"""Barres: finger 1 across several strings, what sounds on it and what cannot sound under it."""

from collections.abc import Iterator
from itertools import combinations

from apoyando.model.arrangement import Arrangement, Barre, Note
from apoyando.model.hand import Finger
from apoyando.model.instrument import LAST_FRET
from apoyando.model.time import Quarters, Span
from apoyando.proofing.certificate import Breach, Proof, Refutation, Rule, Witness, decide
from apoyando.proofing.moment import common_span, find_pairs, sweep
from apoyando.proofing.wording import name_barre, name_note, show_breach

_NARROWEST = 2
"""A barre covers two strings at least; over one it is a finger."""


def prove_barres(arrangement: Arrangement) -> Proof | Refutation:
    """The barres of the arrangement and the notes that say they lie in one agree.

    A barre covers the strings from its lowest up to string 1, for all of its span. While it
    lies, finger 1 stops nothing outside it, no string under it sounds open, and other
    fingers press only above its fret, on any string. Two barres never lie at once (one may
    begin when another ends). A note ``in_barre`` is stopped by finger 1 and covered by a
    barre at its fret for at least a part of its span: a tip may be laid flat under a note
    that lasts, or raised again. While finger 1 stops two strings, one barre covers both.
    """
    barres = arrangement.barres
    proof = Proof(
        rule=Rule.BARRES,
        notes_checked=len(arrangement.notes),
        moments_checked=len(sweep(arrangement.notes)) if barres else 0,
    )
    return decide(
        proof,
        [
            *(witness for barre in barres for witness in _faults_of_barre(arrangement, barre)),
            *_clashes(arrangement),
            *(_uncovered(arrangement, note) for note in arrangement.notes if not _is_covered(note, barres)),
            *_unbridged(arrangement),
        ],
    )


def hinders(barre: Barre, note: Note) -> Breach | None:
    """How a barre makes a note that sounds while it lies impossible, None if it does not."""
    if note.place.is_open:
        return Breach.OPEN_UNDER_BARRE if note.place.string <= barre.lowest_string else None
    if note.finger > Finger.INDEX:
        return Breach.BELOW_BARRE if note.place.fret <= barre.fret else None
    return None if _lies_in(note, barre) else Breach.FINGER_LEAVES_BARRE


def _lies_in(note: Note, barre: Barre) -> bool:
    return note.in_barre and note.place.fret == barre.fret and note.place.string <= barre.lowest_string


def _faults_of_barre(arrangement: Arrangement, barre: Barre) -> Iterator[Witness]:
    if not _exists(arrangement, barre):
        yield _barre_witness(arrangement, barre, Breach.BARRE_IMPOSSIBLE)
    sounding = [note for note in arrangement.notes if note.span.overlaps(barre.span)]
    if not any(_lies_in(note, barre) for note in sounding):
        yield _barre_witness(arrangement, barre, Breach.BARRE_UNUSED)
    for note in sounding:
        breach = hinders(barre, note)
        if breach:
            yield _hindrance(arrangement, barre, note, breach)


def _exists(arrangement: Arrangement, barre: Barre) -> bool:
    strings = len(arrangement.tuning.open_strings)
    return 0 < barre.fret <= LAST_FRET - arrangement.capo and _NARROWEST <= barre.lowest_string <= strings


def _clashes(arrangement: Arrangement) -> Iterator[Witness]:
    for one, other in combinations(arrangement.barres, 2):
        if one.span.overlaps(other.span):
            span = common_span(one.span, other.span)
            fault = f"{name_barre(one)} and {name_barre(other)} cannot lie at once"
            yield show_breach(arrangement.bars, Breach.BARRES_CLASH, span, fault, barres=(one, other))


def _is_covered(note: Note, barres: tuple[Barre, ...]) -> bool:
    """Whether a note's own word on its barre is true for a part of its span."""
    if not note.in_barre:
        return True
    covering = any(_lies_in(note, barre) and barre.span.overlaps(note.span) for barre in barres)
    return note.finger is Finger.INDEX and covering


def _unbridged(arrangement: Arrangement) -> Iterator[Witness]:
    """Pairs of notes that finger 1 stops at once without one barre over both."""
    index_notes = [note for note in arrangement.notes if note.finger is Finger.INDEX]
    for one, other in find_pairs(sweep(index_notes), _in_two_places):
        span = common_span(one.span, other.span)
        covering = [b.span for b in arrangement.barres if _lies_in(one, b) and _lies_in(other, b)]
        if _covered_until(span.onset, covering) < span.offset:
            fault = f"finger 1 stops {name_note(one)} and {name_note(other)}, and no barre covers both"
            yield show_breach(arrangement.bars, Breach.NO_BARRE, span, fault, notes=(one, other))


def _in_two_places(one: Note, other: Note) -> bool:
    """Notes that both say they lie in a barre; a finger elsewhere is a broken hold."""
    return one.in_barre and other.in_barre and one.place != other.place


def _covered_until(moment: Quarters, spans: list[Span]) -> Quarters:
    """How far from a moment on the spans reach without a gap."""
    for span in sorted(spans, key=lambda span: span.onset):
        if span.contains(moment):
            moment = span.offset
    return moment


def _uncovered(arrangement: Arrangement, note: Note) -> Witness:
    fault = f"{name_note(note)} should lie in a barre, but none covers it"
    return show_breach(arrangement.bars, Breach.NO_BARRE, note.span, fault, notes=(note,))


def _barre_witness(arrangement: Arrangement, barre: Barre, breach: Breach) -> Witness:
    fault = f"{name_barre(barre)}: {breach}"
    return show_breach(arrangement.bars, breach, barre.span, fault, barres=(barre,))


def _hindrance(arrangement: Arrangement, barre: Barre, note: Note, breach: Breach) -> Witness:
    span = common_span(barre.span, note.span)
    fault = f"{name_note(note)} does not go with {name_barre(barre)}: {breach}"
    return show_breach(arrangement.bars, breach, span, fault, notes=(note,), barres=(barre,))
