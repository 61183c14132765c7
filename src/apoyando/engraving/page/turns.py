"""Where a page can be turned: how long a hand is free at each barline, as a price.

The left hand is free while nothing but open strings sounds, the right hand while nothing
is struck: over a rest, or while a long note rings. A hand may leave when it has played the
last note before the turn, and has to be back for the first one after it. Where a repeat or
a jump leads back over a turn, the page is turned back too, and then again forward.

Conventions: prices as in ``paging``; bars by index; a turn "at a bar" is at its end.
"""

from bisect import bisect_left
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import accumulate, pairwise

from apoyando.model.arrangement import Arrangement, Note
from apoyando.model.form import play_order
from apoyando.model.time import Quarters, sort_by_moment

NEEDED_SECONDS = 1.5
"""To turn a page by hand without haste (measured on nobody; common experience, no source)."""
TURN_PRICE = 4.0
"""For a turn where a hand has all the time it needs."""
HASTE_PRICE = 8.0
"""On top of it for one where no hand is free."""
LINE_GAIN = 1.5
"""As much as the start of a section is worth."""
SECONDS_PER_MINUTE = 60


def price_turns(arrangement: Arrangement) -> tuple[float, ...]:
    """For each bar what it costs to have to turn the page at its end, every time that this is played."""
    prices = [0.0] * len(arrangement.bars)
    hands = _make_hands(arrangement.notes)
    for before, after in pairwise(play_order(arrangement.bars)):
        haste = 1 - min(1.0, _free_seconds(arrangement, hands, before, after) / NEEDED_SECONDS)
        for bar in _barlines_between(before, after):
            prices[bar] += TURN_PRICE + HASTE_PRICE * haste
    return tuple(prices)


def turn_gains(prices: Sequence[float]) -> tuple[float, ...]:
    """What it is worth to begin a line with each bar, because the page could be turned there."""
    eases = (max(0.0, 1 - (price - TURN_PRICE) / HASTE_PRICE) for price in prices)
    return tuple(LINE_GAIN * ease for ease in (0.0, *eases))[: len(prices)]


def _barlines_between(before: int, after: int) -> range:
    """The bars at whose end the eye passes from one side to the other, forwards or back."""
    return range(before, after) if after > before else range(after, before)


def free_seconds(arrangement: Arrangement, before: int, after: int) -> float:
    """How long a hand is free between two bars that are played one after the other."""
    return _free_seconds(arrangement, _make_hands(arrangement.notes), before, after)


def _free_seconds(arrangement: Arrangement, hands: "_Hands", before: int, after: int) -> float:
    leaving, arriving = arrangement.bars[before].offset, arrangement.bars[after].onset
    if leaving in hands.waits:
        return NEEDED_SECONDS
    free = max(hands.left.free(leaving, arriving), hands.right.free(leaving, arriving))
    return float(SECONDS_PER_MINUTE * free / arrangement.tempo_quarters_per_minute)


@dataclass(frozen=True, slots=True)
class _Busy:
    """When a hand has something to do: ``onsets`` in order, and until when it is busy after each."""

    onsets: Sequence[Quarters]
    until: Sequence[Quarters]

    def free(self, leaving: Quarters, arriving: Quarters) -> Quarters:
        """From its last work before ``leaving`` and to its first from ``arriving`` on."""
        before = bisect_left(self.onsets, leaving)
        after = before if arriving == leaving else bisect_left(self.onsets, arriving)
        return self._free_before(leaving, before) + self._free_after(arriving, after)

    def _free_before(self, moment: Quarters, place: int) -> Quarters:
        return moment - min(moment, self.until[place - 1]) if place else moment

    def _free_after(self, moment: Quarters, place: int) -> Quarters:
        if place and self.until[place - 1] > moment:
            return Quarters(0)
        return self.onsets[place] - moment if place < len(self.onsets) else Quarters(0)


@dataclass(frozen=True, slots=True)
class _Hands:
    """Both hands, and where a fermata waits for the turn: the ends of the notes that have one."""

    left: _Busy
    right: _Busy
    waits: frozenset[Quarters]


def _make_hands(notes: Iterable[Note]) -> _Hands:
    ordered = sort_by_moment(notes, lambda note: note.onset)
    stopped = [note for note in ordered if not note.place.is_open]
    left = _Busy([note.onset for note in stopped], list(_latest(note.offset for note in stopped)))
    onsets = [note.onset for note in ordered]
    waits = frozenset(note.offset for note in ordered if note.has_fermata)
    return _Hands(left, _Busy(onsets, onsets), waits)


def _latest(moments: Iterable[Quarters]) -> Iterator[Quarters]:
    return accumulate(moments, max)
