"""Setting a cell anew: which of its notes, at which points of the grid, at the least price."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from apoyando.arranging.simplification.cells import Cell
from apoyando.model.phrase import LONG_NOTE, is_long, is_ornament
from apoyando.model.prices import Prices
from apoyando.model.time import Quarters, Span

Kept = tuple[int, Span]
"""A note of the cell, by its index there, and when it sounds now."""

_State = tuple[int, int]
"""A note of the cell and the slot at which it begins."""
_Way = tuple[int, tuple[_State, ...]]
"""A price and the states that were passed."""


@dataclass(frozen=True, slots=True)
class CellSetting:
    """The question: a cell, what each note's leaving out costs (None: it stays), and the rules."""

    cell: Cell
    drops: Sequence[int | None]
    shortest: Quarters
    is_straight: bool
    prices: Prices

    def cheapest(self) -> tuple[Kept, ...] | None:
        """The notes kept and their spans, which fill the cell's time; None where there is no way.

        Dynamic programming over notes and slots in order; of ways that cost the same the first
        found is taken.
        """
        ways = self._openings()
        for state in ((note, slot) for note in range(len(self.cell.notes)) for slot in range(self._slots)):
            if state in ways:
                self._go_on(ways, state)
        ends = [end for state, way in ways.items() for end in self._ending(state, way)]
        best = min(ends, key=lambda end: end[0], default=None)
        return None if best is None else tuple(self._spans(best[1]))

    @property
    def _slots(self) -> int:
        return len(self.cell.slots)

    def _openings(self) -> dict[_State, _Way]:
        ways: dict[_State, _Way] = {}
        for note in range(len(self.cell.notes)):
            price = self._price_dropped(0, note)
            if price is not None:
                ways[note, 0] = price + self._price_placed(note, 0), ((note, 0),)
        return ways

    def _go_on(self, ways: dict[_State, _Way], state: _State) -> None:
        price, passed = ways[state]
        for following in self._followers(state):
            step = self._price_step(state, following)
            known = ways.get(following)
            if step is not None and (known is None or price + step < known[0]):
                ways[following] = price + step, (*passed, following)

    def _followers(self, state: _State) -> Iterator[_State]:
        note, slot = state
        for other in range(note + 1, len(self.cell.notes)):
            for later in range(slot + 1, self._slots):
                yield other, later

    def _price_step(self, state: _State, following: _State) -> int | None:
        (note, slot), (other, later) = state, following
        lasting = self._price_lasting(note, slot, self.cell.slots[later])
        dropped = self._price_dropped(note + 1, other)
        if lasting is None or dropped is None:
            return None
        repeats = other > note + 1 and self.cell.notes[note].pitch == self.cell.notes[other].pitch
        repetition = self.prices.melody_repetition_made if repeats else 0
        return lasting + dropped + repetition + self._price_placed(other, later)

    def _ending(self, state: _State, way: _Way) -> Iterator[_Way]:
        note, slot = state
        lasting = self._price_lasting(note, slot, self.cell.span.offset)
        dropped = self._price_dropped(note + 1, len(self.cell.notes))
        if lasting is not None and dropped is not None:
            yield way[0] + lasting + dropped, way[1]

    def _price_dropped(self, first: int, end: int) -> int | None:
        """What it costs to leave out the notes of a range; None if one of them stays."""
        total = 0
        for price in self.drops[first:end]:
            if price is None:
                return None
            total += price
        return total

    def _price_placed(self, note: int, slot: int) -> int:
        sung = self.cell.notes[note]
        moved = self.cell.slots[slot] - sung.onset
        per_quarter = (
            self.prices.melody_delayed_per_quarter if moved > 0 else self.prices.melody_advanced_per_quarter
        )
        return round(abs(moved) * per_quarter) + (
            self.prices.melody_ornament_kept if is_ornament(sung) else 0
        )

    def _price_lasting(self, note: int, slot: int, offset: Quarters) -> int | None:
        """What it costs that a note lasts from a slot to ``offset``; None if it must not."""
        onset = self.cell.slots[slot]
        if offset - onset < self.shortest:
            return None
        if is_long(self.cell.notes[note]) and offset - onset < LONG_NOTE:
            return None
        is_syncopated = self.cell.is_syncopated(onset, offset)
        if is_syncopated and self.is_straight:
            return None
        shortened = max(self.cell.notes[note].duration - (offset - onset), Quarters(0))
        by_length = round(shortened * self.prices.melody_shortened_per_quarter)
        return by_length + (self.prices.melody_syncopated if is_syncopated else 0)

    def _spans(self, passed: Sequence[_State]) -> Iterator[Kept]:
        ends = [*(self.cell.slots[slot] for _, slot in passed[1:]), self.cell.span.offset]
        for (note, slot), offset in zip(passed, ends, strict=True):
            yield note, Span(self.cell.slots[slot], offset)
