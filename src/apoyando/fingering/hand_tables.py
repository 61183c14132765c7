"""The hand as tables: what two touches cost together, or in turn, and whether a barre can lie.

All rules of the left hand at one moment and from one moment to the next stand here. They are
pairwise, but for what ``barres_lie`` asks of a whole grip:

- one note a string; one place a finger, except a barre, which lies at one fret;
- a lower-numbered finger never lies on a higher fret; at one fret the lower number lies on
  the lower-pitched string;
- two finger tips stand no farther apart than the level's outermost span; where the level says
  so, the span from a barre is measured from where it lies nearest: along the other
  finger's string, or from the barre's lowest string where that finger stands beyond it;
- where the level has no small barres, only finger 1 lies flat, from its lowest string up to
  string 1: no open string sounds under it, and the others stop frets above it only;
- a barre lies from its lowest string to its highest, two strings at least, and no other
  finger or open string sounds between them below its fret or at it. Finger 1 lies on up to
  string 1 where nothing there forbids it.
"""

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from apoyando.fingering.problem import FORBIDDEN
from apoyando.fingering.touches import (
    CONTACT_X,
    CONTACT_Y,
    FINGER,
    FRET,
    IN_BARRE,
    IS_BARRE,
    IS_SMALL_BARRE,
    IS_SOUNDING,
    IS_STOPPED,
    NO_TOUCH,
    PLACE,
    STRING,
    STRING_X,
    STRING_Y,
    Flags,
    Floats,
    Ints,
)
from apoyando.model.hand import FINGER_PAIRS, FINGERS, Finger
from apoyando.model.level import Level, SpanLimit
from apoyando.model.prices import Prices

_NO_WIDTH_MM = 1e-9
"""Where comfort ends only with the outermost span."""

Limits = tuple[tuple[tuple[Finger, Finger], tuple[float, float]], ...]
"""For each pair of fingers how far they open: comfortably, and at the outermost, in mm."""


@dataclass(frozen=True, slots=True)
class HandTables:
    """Prices of touches for one level, one hand and one price list.

    Shapes: ``touch`` (T,), the others (T, T), with T = NO_TOUCH + 1. ``together`` is
    FORBIDDEN where the hand cannot do both at once. ``in_turn[a, b]`` is what it costs if
    touch a ends at the very moment at which touch b begins; ``melody_in_turn`` likewise
    where a sounds the melody, ``lifted_in_turn`` where the hand lifts as a whole, and
    ``melody_lifted_in_turn`` where both are so. ``flat_fingers`` are those that may lie flat,
    ``index_span_mm`` tells for each finger how far it reaches from finger 1, ``lies_across``
    whether from the nearest string of a barre. What a grip costs as a whole is reckoned from
    ``prices`` (``postures``).
    """

    prices: Prices
    flat_fingers: tuple[Finger, ...]
    index_span_mm: Floats
    lies_across: bool
    touch: Ints
    together: Ints
    in_turn: Ints
    melody_in_turn: Ints
    lifted_in_turn: Ints
    melody_lifted_in_turn: Ints


def hand_tables(level: Level, prices: Prices, hand_size: float) -> HandTables:
    """``hand_size`` scales every span of the level; 1.0 is the table as it stands."""
    limits = tuple(_limits(level.spans, hand_size).items())
    return _hand_tables(limits, level.flat_fingers, prices, lies_across=level.barre_lies_across)


@lru_cache(maxsize=8)
def _hand_tables(
    limits: Limits, flat_fingers: tuple[Finger, ...], prices: Prices, *, lies_across: bool
) -> HandTables:
    """Kept, for the twelve keys of a song share them."""
    in_turn = _in_turn_prices(prices.finger_jump, prices.finger_jump_per_100_mm, prices.guide_finger)
    lifted = _in_turn_prices(0, prices.hand_lifted_per_100_mm, prices.guide_finger)
    exchanged = _is_exchanged() * prices.finger_exchanged
    return HandTables(
        prices=prices,
        index_span_mm=_index_spans_mm(limits),
        touch=_touch_prices(prices),
        flat_fingers=flat_fingers,
        lies_across=lies_across,
        together=_together_prices(limits, prices, flat_fingers, lies_across=lies_across),
        in_turn=in_turn + exchanged,
        melody_in_turn=in_turn + (in_turn > 0) * prices.melody_gap + exchanged,
        lifted_in_turn=lifted,
        melody_lifted_in_turn=lifted + (lifted > 0) * prices.melody_gap,
    )


def _index_spans_mm(limits: Limits) -> Floats:
    """By finger; 0 for the index itself, for an open string and for silence (-1, the last)."""
    spans = np.zeros(len(Finger) + 1)
    for (low, high), (_, outermost) in limits:
        if low is Finger.INDEX:
            spans[high] = outermost
    return spans


def _touch_prices(prices: Prices) -> Ints:
    higher = (prices.middle_finger, prices.ring_finger, prices.little_finger)
    # By finger number; the last is that of NO_TOUCH, whose finger is -1.
    by_finger = np.array([0, prices.finger_pressed, *(prices.finger_pressed + more for more in higher), 0])
    small_barre = IS_SMALL_BARRE * prices.small_barre_per_string
    high = np.maximum(FRET - 4, 0) * prices.high_fret_per_fret
    return np.asarray(by_finger[FINGER] + small_barre + high)


def _together_prices(
    limits: Limits, prices: Prices, flat_fingers: Collection[Finger], *, lies_across: bool
) -> Ints:
    forbidden = _same_string() | _same_finger() | _crossed_fingers()
    total = np.zeros_like(forbidden, dtype=np.int64)
    for fingers, limit in limits:
        low, high = (np.flatnonzero(finger == FINGER) for finger in fingers)
        apart = _apart_mm(low, high, lies_across=lies_across)
        total[np.ix_(low, high)] = _pair_prices(low, high, apart, limit, prices)
    total += total.T
    total += _open_beside_barre() * prices.barre_beside_open_per_string
    if len(flat_fingers) == 1:
        forbidden |= _open_under_barre() | _beside_barre()
    total[forbidden] = FORBIDDEN
    return total


def _apart_mm(low: Ints, high: Ints, *, lies_across: bool) -> Floats:
    """Between the touches of one finger (rows) and those of a higher-numbered one (columns).

    With ``lies_across``, from a barre along the string; ``_is_near_barre`` asks for the rest.
    """
    y = CONTACT_Y[low, None]
    if lies_across:
        y = np.where(IS_BARRE[low, None], STRING_Y[STRING[high], FRET[low, None]], y)
    return np.hypot(CONTACT_X[low, None] - CONTACT_X[high], y - CONTACT_Y[high])


def _pair_prices(low: Ints, high: Ints, apart: Floats, limit: tuple[float, float], prices: Prices) -> Ints:
    """Of the touches of one finger (rows) with those of a higher-numbered one (columns)."""
    comfort, outermost = limit
    strain = np.clip((apart - comfort) / max(outermost - comfort, _NO_WIDTH_MM), 0.0, 1.0)
    is_barre = IN_BARRE[low, None] | IN_BARRE[high]
    extension = np.where(is_barre, prices.extension_from_barre_per_fret, prices.extension_per_fret)
    frets = FRET[high] - FRET[low, None]
    wider = frets - (FINGER[high] - FINGER[low, None])
    crowded = (is_barre & (frets == 1)) * prices.crowded_by_barre_per_fret
    price = (
        np.rint(strain * prices.stretch_beyond_comfort) * ~is_barre
        + np.maximum(wider, 0) * extension
        + np.maximum(-wider, 0) * crowded
        + np.maximum(-wider - 1, 0) * prices.contraction_per_fret * ~IS_BARRE[low, None]
        + _strings_to_treble(low, high) * prices.neighbour_to_treble_per_string
    )
    return np.where(apart > outermost, FORBIDDEN, price).astype(np.int64)


def _strings_to_treble(low: Ints, high: Ints) -> Ints:
    """Of two neighbouring fingers, by how many strings the higher-numbered lies nearer to string 1."""
    nearer = np.maximum(STRING[low, None] - STRING[high], 0)
    return np.asarray(nearer * (FINGER[high] - FINGER[low, None] == 1))


def _limits(
    spans: Mapping[tuple[Finger, Finger], SpanLimit], hand_size: float
) -> dict[tuple[Finger, Finger], tuple[float, float]]:
    return {
        pair: (spans[pair].comfortable_mm * hand_size, spans[pair].outermost_mm * hand_size)
        for pair in FINGER_PAIRS
    }


def _either_way(pairs: Flags) -> Flags:
    return pairs | pairs.T


def _same_string() -> Flags:
    both = IS_SOUNDING[:, None] & IS_SOUNDING
    return np.asarray(both & (STRING[:, None] == STRING))


def _same_finger() -> Flags:
    both = IS_STOPPED[:, None] & IS_STOPPED & (FINGER[:, None] == FINGER)
    one_barre = IN_BARRE[:, None] & IN_BARRE & (FRET[:, None] == FRET)
    return np.asarray(both & ~one_barre)


def _crossed_fingers() -> Flags:
    ordered = IS_STOPPED[:, None] & (FINGER[:, None] < FINGER)
    higher_fret = FRET[:, None] > FRET
    same_fret_wrong_string = (FRET[:, None] == FRET) & (STRING[:, None] <= STRING)
    return _either_way(ordered & (higher_fret | same_fret_wrong_string))


def _open_beside_barre() -> Flags:
    return _either_way(IS_BARRE[:, None] & (FINGER == Finger.OPEN))


def _open_under_barre() -> Flags:
    return _either_way(IS_BARRE[:, None] & (FINGER == Finger.OPEN) & (STRING[:, None] > STRING))


def _beside_barre() -> Flags:
    barre = IS_BARRE[:, None]
    return _either_way(barre & (FINGER > Finger.INDEX) & (FRET[:, None] >= FRET))


def _in_turn_prices(jump: int, jump_per_100_mm: int, guide: int) -> Ints:
    """Finger tips only: a barre that moves is priced as a shift and a barre laid anew."""
    total = np.zeros((NO_TOUCH + 1, NO_TOUCH + 1), dtype=np.int64)
    for finger in FINGERS:
        tips = np.flatnonzero(~IN_BARRE & (finger == FINGER))
        total[np.ix_(tips, tips)] = _tip_moves(tips, jump, jump_per_100_mm, guide)
    return total


def _tip_moves(tips: Ints, jump: int, jump_per_100_mm: int, guide: int) -> Ints:
    """From each touch of one finger tip to each other."""
    mm = np.hypot(CONTACT_X[tips, None] - CONTACT_X[tips], CONTACT_Y[tips, None] - CONTACT_Y[tips])
    jumps = jump + np.rint(mm / 100.0 * jump_per_100_mm)
    # Where a finger lies behind the fret of its number the hand is in position I and stays there.
    leads = FRET[tips] >= FINGER[tips]
    is_guide = (STRING[tips, None] == STRING[tips]) & leads[:, None] & leads
    price = np.where(is_guide, guide, jumps)
    return np.where(PLACE[tips, None] != PLACE[tips], price, 0).astype(np.int64)


def _is_exchanged() -> Flags:
    """Whether one finger tip comes to the very place of another."""
    is_tip = IS_STOPPED & ~IN_BARRE
    is_there = (STRING[:, None] == STRING) & (FRET[:, None] == FRET)
    return np.asarray(is_there & is_tip[:, None] & is_tip & (FINGER[:, None] != FINGER))


# Whether barres can lie.


def barres_lie(touches: Ints, tables: HandTables) -> Flags:
    """Whether every barre of a grip can lie as it must: touches of shape (voices, N)."""
    lies = np.ones(touches.shape[1], dtype=np.bool_)
    flat = np.asarray(IN_BARRE.take(touches).any(axis=0)).nonzero()[0]
    if not len(flat):
        return lies
    touches = touches.take(flat, axis=1)
    for finger in tables.flat_fingers:
        lies[flat] &= _barre_lies(touches, finger)
    if tables.lies_across:
        lies[flat] &= _is_near_barre(touches, tables)
    return lies


def _is_near_barre(touches: Ints, tables: HandTables) -> Flags:
    """Whether fingers beyond the lowest string of a barre are within reach of it."""
    fret, lowest = _BARRE_FRET.take(touches).max(axis=0), _BARRE_STRING.take(touches).max(axis=0)
    x, y = STRING_X[fret], STRING_Y[lowest, fret]
    apart = np.hypot(CONTACT_X.take(touches) - x, CONTACT_Y.take(touches) - y)
    beyond = (FINGER.take(touches) > Finger.INDEX) & (STRING.take(touches) > lowest) & (lowest > 0)
    return np.asarray(~(beyond & (apart > tables.index_span_mm[FINGER.take(touches)])).any(axis=0))


_BARRE_FRET, _BARRE_STRING = IS_BARRE * FRET, IS_BARRE * STRING


@dataclass(frozen=True, slots=True)
class _Flat:
    """The touches of one finger laid flat. Where a touch is none of them its strings are 0 and 7, its fret is -1."""

    string: Ints
    string_or_7: Ints
    fret: Ints
    is_other: Flags

    @classmethod
    def of(cls, finger: Finger) -> "_Flat":
        flat = IN_BARRE & (finger == FINGER)
        return cls(flat * STRING, np.where(flat, STRING, 7), np.where(flat, FRET, -1), IS_SOUNDING & ~flat)


_FLAT = {finger: _Flat.of(finger) for finger in FINGERS}


def _barre_lies(touches: Ints, finger: Finger) -> Flags:
    flat, string = _FLAT[finger], STRING.take(touches)
    lowest, highest = flat.string.take(touches).max(axis=0), flat.string_or_7.take(touches).min(axis=0)
    is_low = FRET.take(touches) <= flat.fret.take(touches).max(axis=0)
    beside = flat.is_other.take(touches) & is_low & (string < lowest)
    cannot_be_one = (lowest == 1) | beside.any(axis=0) | (finger > Finger.INDEX)
    between = (beside & (string > highest)).any(axis=0)
    return np.asarray(~((lowest == highest) & cannot_be_one | between))
