"""Barres: a finger across several strings, what sounds on it and what cannot sound under it."""

from collections.abc import Iterator
from itertools import combinations

from apoyando.model.arrangement import Arrangement, Barre, Note
from apoyando.model.instrument import LAST_FRET
from apoyando.model.time import Quarters, Span
from apoyando.proofing.certificate import Breach, Proof, Refutation, Rule, Witness, decide
from apoyando.proofing.moment import common_span, find_pairs, sweep
from apoyando.proofing.wording import name_barre, name_note, show_breach

_NARROWEST = 2
"""A barre covers two strings at least; over one it is a finger."""


def prove_barres(arrangement: Arrangement) -> Proof | Refutation:
    """The barres of the arrangement and the notes that say they lie in one agree.

    A barre covers the strings from its lowest up to its highest (string 1, unless it is a
    small one), for all of its span. While it lies, its finger stops nothing outside it, and
    no string under it sounds open or is stopped below its fret. Higher-numbered fingers
    press above its fret, or at it beyond its highest string; lower-numbered ones below it, or
    at it beyond its lowest. Two barres that lie at once keep the same order, and one finger
    has one (it may begin when another ends). A note ``in_barre`` is covered by a barre of its
    finger at its fret for at least a part of its span: a tip may be laid flat under a note
    that lasts, or raised again. While a finger stops two strings, one barre covers both.
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
        return Breach.OPEN_UNDER_BARRE if note.place.string in barre.strings else None
    if note.finger > barre.finger:
        return None if _is_above(note, barre) else Breach.BESIDE_BARRE
    if note.finger < barre.finger:
        return None if _is_below(note, barre) else Breach.BESIDE_BARRE
    return None if _lies_in(note, barre) else Breach.FINGER_LEAVES_BARRE


def _is_above(note: Note, barre: Barre) -> bool:
    is_beyond = note.place.fret == barre.fret and note.place.string < barre.highest_string
    return note.place.fret > barre.fret or is_beyond


def _is_below(note: Note, barre: Barre) -> bool:
    if note.place.fret == barre.fret:
        return note.place.string > barre.lowest_string
    return note.place.fret < barre.fret and note.place.string not in barre.strings


def _lies_in(note: Note, barre: Barre) -> bool:
    is_its_own = note.in_barre and note.finger is barre.finger
    return is_its_own and note.place.fret == barre.fret and note.place.string in barre.strings


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
    is_on_the_neck = 0 < barre.fret <= LAST_FRET - arrangement.capo
    are_strings = barre.highest_string >= 1 and barre.lowest_string <= strings
    return is_on_the_neck and are_strings and len(barre.strings) >= _NARROWEST


def _clashes(arrangement: Arrangement) -> Iterator[Witness]:
    for one, other in combinations(arrangement.barres, 2):
        if one.span.overlaps(other.span) and not _lie_in_order(one, other):
            span = common_span(one.span, other.span)
            fault = f"{name_barre(one)} and {name_barre(other)} cannot lie at once"
            yield show_breach(arrangement.bars, Breach.BARRES_CLASH, span, fault, barres=(one, other))


def _lie_in_order(one: Barre, other: Barre) -> bool:
    low, high = sorted((one, other), key=lambda barre: barre.finger)
    if low.finger is high.finger or low.fret > high.fret:
        return False
    return low.fret < high.fret or low.highest_string > high.lowest_string


def _is_covered(note: Note, barres: tuple[Barre, ...]) -> bool:
    """Whether a note's own word on its barre is true for a part of its span."""
    return not note.in_barre or any(
        _lies_in(note, barre) and barre.span.overlaps(note.span) for barre in barres
    )


def _unbridged(arrangement: Arrangement) -> Iterator[Witness]:
    """Pairs of notes that one finger stops at once without one barre over both."""
    flat = [note for note in arrangement.notes if note.in_barre]
    for one, other in find_pairs(sweep(flat), _in_two_places):
        span = common_span(one.span, other.span)
        covering = [b.span for b in arrangement.barres if _lies_in(one, b) and _lies_in(other, b)]
        if _covered_until(span.onset, covering) < span.offset:
            fault = f"one finger stops {name_note(one)} and {name_note(other)}, and no barre covers both"
            yield show_breach(arrangement.bars, Breach.NO_BARRE, span, fault, notes=(one, other))


def _in_two_places(one: Note, other: Note) -> bool:
    """Notes that both say they lie in a barre; a finger elsewhere is a broken hold."""
    return one.finger is other.finger and one.place != other.place


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
