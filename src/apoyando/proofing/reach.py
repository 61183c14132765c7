"""The fingers of the left hand lie in order and within reach of each other.

Conventions: distances in millimetres between finger tips on the model's fingerboard. A
barre counts with the nearest string that it covers, wherever its notes sound. The tip that touches
a harmonic lies over the wire, one that presses lies behind it.
"""

from collections.abc import Iterable, Iterator

from apoyando.model.arrangement import Arrangement, Barre, Note
from apoyando.model.hand import Finger
from apoyando.model.instrument import Place, StringNumber, contact_point_mm, distance_mm, touch_point_mm
from apoyando.model.level import Level
from apoyando.proofing.certificate import Breach, Proof, Refutation, Rule, WidestSpan, Witness, decide
from apoyando.proofing.moment import Moment, Pair, common_span, find_pairs, sounding_pairs, sweep
from apoyando.proofing.wording import bar_number, name_barre, name_note, show_breach

ROUNDING_MM = 1e-6
"""Two ways to reckon one distance may differ in their last digits; no finger feels this."""


def prove_reach(arrangement: Arrangement, level: Level, hand_size: float = 1.0) -> Proof | Refutation:
    """At every moment the fingers lie in order and no two are farther apart than the level allows.

    Order: a lower-numbered finger never lies on a higher fret; at one fret the lower
    number lies on the lower-pitched string. ``hand_size`` scales every limit.
    """
    moments = sweep(note for note in arrangement.notes if note.finger is not Finger.OPEN)
    proof = Proof(
        rule=Rule.REACH,
        notes_checked=sum(note.finger is not Finger.OPEN for note in arrangement.notes),
        moments_checked=len(moments),
        widest=_find_widest(arrangement, moments),
    )
    return decide(
        proof,
        [
            *(_crossing(arrangement, pair) for pair in find_pairs(moments, crosses)),
            *_stretches(arrangement, moments, level, hand_size),
            *_stretches_from_barres(arrangement, level, hand_size),
        ],
    )


def crosses(one: Note, other: Note) -> bool:
    """Whether two stopped notes that sound together cross their fingers."""
    if one.finger == other.finger:
        return False
    low, high = (one, other) if one.finger < other.finger else (other, one)
    if low.place.fret == high.place.fret:
        # String 6 is the lowest-pitched; two fingers on one string are a matter of the holds.
        return low.place.string < high.place.string
    return low.place.fret > high.place.fret


def outermost_mm(level: Level, one: Finger, other: Finger, hand_size: float) -> float:
    """How far two different fingers may lie apart, in either order."""
    return level.spans[min(one, other), max(one, other)].outermost_mm * hand_size


def apart_mm(one: Note, other: Note) -> float:
    """Straight across the fingerboard, between the tips that stop or touch two notes."""
    (x1, y1), (x2, y2) = _tip_mm(one), _tip_mm(other)
    return float(((x1 - x2) ** 2 + (y1 - y2) ** 2) ** 0.5)


def _tip_mm(note: Note) -> tuple[float, float]:
    return touch_point_mm(note.place) if note.is_harmonic else contact_point_mm(note.place)


def _stretches(
    arrangement: Arrangement, moments: Iterable[Moment], level: Level, hand_size: float
) -> Iterator[Witness]:
    def is_too_wide(one: Note, other: Note) -> bool:
        if one.finger == other.finger:
            return False
        if _barre_between(arrangement.barres, (one, other)):
            return False  # Asked of the barre itself.
        limit = outermost_mm(level, one.finger, other.finger, hand_size)
        return apart_mm(one, other) > limit + ROUNDING_MM

    for one, other in find_pairs(moments, is_too_wide):
        limit = outermost_mm(level, one.finger, other.finger, hand_size)
        yield _stretch(arrangement, (one, other), limit)


def _apart_mm(barres: Iterable[Barre], pair: Pair) -> float:
    """Between two fingers for as long as both notes sound; where one lies flat all that time, from the barre."""
    one, other = pair
    found = _barre_between(barres, pair)
    return distance_from_barre_mm(*found) if found else apart_mm(one, other)


def _barre_between(barres: Iterable[Barre], pair: Pair) -> tuple[Barre, Place] | None:
    """The barre that stops one of two notes for as long as both sound, and the other's place."""
    one, other = pair
    span = common_span(one.span, other.span)
    for note, against in ((one, other), (other, one)):
        for barre in barres:
            if _stops(barre, note) and barre.span.onset <= span.onset and span.offset <= barre.span.offset:
                return barre, against.place
    return None


def _stops(barre: Barre, note: Note) -> bool:
    place = note.place
    return barre.finger == note.finger and barre.fret == place.fret and place.string in barre.strings


def _stretches_from_barres(arrangement: Arrangement, level: Level, hand_size: float) -> Iterator[Witness]:
    for barre in arrangement.barres:
        for note in arrangement.notes:
            if note.finger in {Finger.OPEN, barre.finger} or not note.span.overlaps(barre.span):
                continue
            limit = outermost_mm(level, barre.finger, note.finger, hand_size)
            span_mm = distance_from_barre_mm(barre, note.place)
            if span_mm > limit + ROUNDING_MM:
                yield _barre_stretch(arrangement, barre, note, span_mm, limit)


def distance_from_barre_mm(barre: Barre, place: Place) -> float:
    """From the nearest string that a barre covers."""
    covered = (Place(StringNumber(number), barre.fret) for number in barre.strings)
    return min((distance_mm(spot, place) for spot in covered), default=0.0)


def _find_widest(arrangement: Arrangement, moments: Iterable[Moment]) -> WidestSpan | None:
    pairs = [pair for pair in sounding_pairs(moments) if pair[0].finger != pair[1].finger]
    if not pairs:
        return None
    one, other = max(pairs, key=lambda pair: _apart_mm(arrangement.barres, pair))
    onset = common_span(one.span, other.span).onset
    return WidestSpan(
        span_mm=_apart_mm(arrangement.barres, (one, other)),
        notes=(one, other),
        bar=bar_number(arrangement.bars, onset),
        onset=onset,
    )


def _crossing(arrangement: Arrangement, pair: Pair) -> Witness:
    one, other = pair
    fault = f"{name_note(one)} and {name_note(other)} would cross the fingers"
    return _witness(arrangement, pair, Breach.FINGER_ORDER, fault)


def _stretch(arrangement: Arrangement, pair: Pair, limit_mm: float) -> Witness:
    one, other = pair
    span_mm = apart_mm(one, other)
    fault = f"{name_note(one)} and {name_note(other)} lie {span_mm:.1f} mm apart, at most {limit_mm:.1f} mm"
    return _witness(arrangement, pair, Breach.TOO_WIDE, fault)


def _witness(arrangement: Arrangement, pair: Pair, breach: Breach, fault: str) -> Witness:
    span = common_span(pair[0].span, pair[1].span)
    return show_breach(arrangement.bars, breach, span, fault, notes=pair)


def _barre_stretch(
    arrangement: Arrangement, barre: Barre, note: Note, span_mm: float, limit_mm: float
) -> Witness:
    span = common_span(barre.span, note.span)
    fault = f"{name_note(note)} lies {span_mm:.1f} mm from {name_barre(barre)}, at most {limit_mm:.1f} mm"
    return show_breach(arrangement.bars, Breach.TOO_WIDE, span, fault, notes=(note,), barres=(barre,))
