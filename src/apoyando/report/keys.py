"""The keys of a song beside each other."""

from collections.abc import Sequence
from dataclasses import dataclass

from apoyando.arranging import KeyComparison
from apoyando.model.arrangement import Role
from apoyando.report.entries import Entry
from apoyando.teaching import (
    HardBar,
)


@dataclass(frozen=True, slots=True)
class ComparedKey:
    """The song in one setup: the bars that are hard in it, hardest first, and the reasons for its price."""

    comparison: KeyComparison[tuple[HardBar, ...]]
    reasons: tuple[str, ...]

    @property
    def hard_bars(self) -> tuple[HardBar, ...]:
        return self.comparison.seen


def describe_keys(compared: Sequence[ComparedKey]) -> list[Entry]:
    """The keys in the order given. ``hardest_bar`` is None where no bar is hard."""
    return [_describe_key(each) for each in compared]


def _describe_key(compared: ComparedKey) -> Entry:
    setup, arrangement = compared.comparison.setup, compared.comparison.arrangement
    basses = arrangement.voice(Role.BASS)
    return {
        "key": str(setup.key),
        "sounding_key": str(setup.sounding_key),
        "capo": setup.capo,
        "tuning": setup.tuning,
        "price": compared.comparison.price,
        "open_basses": sum(note.place.is_open for note in basses),
        "barres": len(arrangement.barres),
        "highest_fret": max((note.place.fret for note in arrangement.notes), default=0),
        "hardest_bar": compared.hard_bars[0].bar if compared.hard_bars else None,
        "reasons": list(compared.reasons),
    }
