"""Grips: everything the hand does in one slice of time.

A grip holds one touch for each voice (NO_TOUCH where the voice is silent). ``GripSet``
lists, as columns, every grip in which a slice can be sounded, with its price.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from apoyando.fingering.addends import MOST_AT_ONCE
from apoyando.fingering.hand_tables import HandTables, barres_lie
from apoyando.fingering.postures import posture_prices
from apoyando.fingering.problem import FORBIDDEN, Candidate, Restriction
from apoyando.fingering.touches import (
    FINGER,
    FRET,
    IN_BARRE,
    IS_BARRE,
    NO_TOUCH,
    STRING,
    Flags,
    Ints,
    touches_at,
)
from apoyando.model.hand import Finger
from apoyando.model.instrument import LAST_FRET, Tuning

POSITIONS = int(LAST_FRET)
"""Where finger 1 can lie: frets 1 to the last."""

NONE_CHOSEN = -1


@dataclass(frozen=True, slots=True, eq=False)
class VoiceTouches:
    """The ways in which one voice can sound, one row each: which candidate, by which touch."""

    candidate: Ints
    touch: Ints

    @property
    def is_silent(self) -> bool:
        """Whether there is no other way: then the other voices are as free as without it."""
        return len(self.touch) == 1 and bool(self.touch[0] == NO_TOUCH)


@dataclass(frozen=True, slots=True)
class GripSet:
    """Every grip for one choice of candidates, one column each.

    ``rows``: shape (voices, grips), which row of the voice's ``VoiceTouches`` it uses; so ``touches``.
    ``position`` is the fret at which finger 1 lies or would lie. ``barre_fret`` is 0 without
    a barre of finger 1, ``barre_string`` the lowest-pitched string under it. ``is_free`` marks
    grips in which no finger presses, and the hand may rest in any position.
    """

    rows: Ints
    touches: Ints
    price: Ints
    position: Ints
    barre_fret: Ints
    barre_string: Ints
    is_free: Flags

    def __len__(self) -> int:
        return len(self.price)

    def taken(self, which: Ints) -> "GripSet":
        """Some of the grips."""
        return GripSet(
            self.rows.take(which, axis=1),
            self.touches.take(which, axis=1),
            self.price.take(which),
            self.position.take(which),
            self.barre_fret.take(which),
            self.barre_string.take(which),
            self.is_free.take(which),
        )


def candidate_touches(
    candidate: Candidate, tuning: Tuning, flat_fingers: tuple[Finger, ...]
) -> tuple[int, ...]:
    """Every way to sound a candidate."""
    return tuple(
        touch
        for place in tuning.places(candidate.note, candidate.highest_fret)
        if not candidate.strings or place.string in candidate.strings
        for touch in touches_at(place, flat_fingers)
        if not candidate.fingers or FINGER[touch] in candidate.fingers
    )


def voice_touches(touches: Sequence[Sequence[int]], *, may_be_silent: bool) -> VoiceTouches:
    """Every way to sound any of a voice's candidates, each with its touches; silence first where it is allowed."""
    candidates = [NONE_CHOSEN] * may_be_silent + [index for index, each in enumerate(touches) for _ in each]
    ways = [NO_TOUCH] * may_be_silent + [touch for each in touches for touch in each]
    return VoiceTouches(np.array(candidates, dtype=np.int64), np.array(ways, dtype=np.int64))


def enumerate_grips(
    voices: Sequence[VoiceTouches], interplay: Mapping[tuple[int, int], Ints], tables: HandTables
) -> GripSet:
    """Every grip the hand can take, with what it costs to hold it.

    The hand is built up voice by voice. ``interplay[a, b]`` has a row for each candidate of
    voice a and a column for each of voice b, and a last row and column for a silent voice.
    """
    rows = np.zeros((0, 1), dtype=np.int64)
    price = np.zeros(1, dtype=np.int64)
    for new, voice in enumerate(voices):
        if voice.is_silent:
            rows = np.concatenate([rows, np.zeros((1, len(price)), dtype=np.int64)])
            continue
        pairs = [_pair_prices(voices, old, new, interplay, tables) for old in range(new)]
        at_once = max(1, MOST_AT_ONCE // max(1, len(voice.touch)))
        parts = [
            _with_voice(
                rows[:, start : start + at_once], price[start : start + at_once], pairs, voice, tables
            )
            for start in range(0, max(len(price), 1), at_once)
        ]
        rows, price = parts[0] if len(parts) == 1 else _joined(parts)
    touches = np.array([voice.touch.take(row) for voice, row in zip(voices, rows, strict=True)])
    lies = barres_lie(touches, tables)
    if not lies.all():
        which = lies.nonzero()[0]
        rows, touches, price = rows.take(which, axis=1), touches.take(which, axis=1), price.take(which)
    return _with_positions(rows, touches, price + posture_prices(touches, tables.prices))


def _joined(parts: Sequence[tuple[Ints, Ints]]) -> tuple[Ints, Ints]:
    return np.concatenate([rows for rows, _ in parts], axis=1), np.concatenate([price for _, price in parts])


def _pair_prices(
    voices: Sequence[VoiceTouches],
    old: int,
    new: int,
    interplay: Mapping[tuple[int, int], Ints],
    tables: HandTables,
) -> Ints:
    """What each way to sound one voice costs with each way to sound another."""
    pair = tables.together[voices[old].touch[:, None], voices[new].touch]
    if (old, new) in interplay:
        pair = pair + interplay[old, new][voices[old].candidate[:, None], voices[new].candidate]
    return np.asarray(pair)


def _with_voice(
    rows: Ints, price: Ints, pairs: Sequence[Ints], voice: VoiceTouches, tables: HandTables
) -> tuple[Ints, Ints]:
    """The hands so far with every way to sound one voice more, as far as the hand can."""
    total = price[:, None] + tables.touch.take(voice.touch)
    for old, pair in zip(rows, pairs, strict=True):
        total += pair.take(old, axis=0)
    possible = (total < FORBIDDEN).ravel().nonzero()[0]
    which = possible // total.shape[1]
    touch = possible - which * total.shape[1]
    return np.concatenate([rows.take(which, axis=1), touch[None, :]]), total.take(possible)


def restricted(grips: GripSet, restriction: Restriction) -> GripSet:
    """The grips that are allowed."""
    allowed = ~np.isin(FINGER[grips.touches], restriction.free_fingers).any(axis=0)
    if not restriction.allows_barre:
        allowed &= ~IN_BARRE[grips.touches].any(axis=0)
    if restriction.position is not None:
        allowed &= grips.position == restriction.position
    if restriction.barre_fret is not None:
        allowed &= grips.barre_fret == restriction.barre_fret
    return grips.taken(np.flatnonzero(allowed))


_NO_FINGER = 9 * 32
_FINGER_AND_POSITION = np.where(FINGER > 0, FINGER * 32 + np.maximum(FRET - FINGER + 1, 1), _NO_FINGER)
"""Of each touch; the least in a grip is that of its lowest-numbered finger, and has the grip's position."""
_BARRE_AND_STRING = np.where(IS_BARRE, FRET * 8 + STRING, 0)
"""Of each touch; the greatest in a grip has its barre of finger 1, and the lowest-pitched string under it."""


def _with_positions(rows: Ints, touches: Ints, price: Ints) -> GripSet:
    lowest = _FINGER_AND_POSITION.take(touches).min(axis=0)
    barre = _BARRE_AND_STRING.take(touches).max(axis=0)
    is_free = lowest >= _NO_FINGER
    grips = GripSet(rows, touches, price, lowest % 32, barre // 8, barre % 8, is_free)
    free = is_free.nonzero()[0]
    if not len(free):
        return grips
    # A free hand may wait anywhere: one grip for each position.
    grips = grips.taken(np.concatenate([np.flatnonzero(~is_free), np.repeat(free, POSITIONS)]))
    waiting = np.tile(np.arange(1, POSITIONS + 1), len(free))
    grips.position[-len(waiting) :] = waiting
    return grips
