"""The state of reading one measure from left to right, in time counted from its start."""

from dataclasses import dataclass, field
from fractions import Fraction

from apoyando.model.errors import Problem
from apoyando.model.time import Quarters
from apoyando.reading.draft import (
    LONGEST_BAR_QUARTERS,
    DraftChord,
    DraftNote,
)
from apoyando.reading.musicxml.barlines import BarlineSigns
from apoyando.reading.musicxml.directions import Direction
from apoyando.reading.musicxml.settings import Setting

_REMEDY = "Put the bar right in your notation program and export it again."


@dataclass(slots=True)
class Walk:
    """The state of reading one measure from left to right, and what was found so far."""

    number: str
    setting: Setting
    start: Setting
    changed_at: Quarters | None = None
    cursor: Quarters = Fraction(0)
    length: Quarters = Fraction(0)
    struck: Quarters = Fraction(0)
    struck_duration: Quarters = Fraction(0)
    first_shown: Quarters | None = None
    notes: list[DraftNote] = field(default_factory=list)
    lower_notes: list[DraftNote] = field(default_factory=list)
    chords: list[DraftChord] = field(default_factory=list)
    directions: list[tuple[Quarters, Direction]] = field(default_factory=list)
    signs: dict[str, BarlineSigns] = field(default_factory=dict)
    expression: list[str] = field(default_factory=list)
    remarks: list[str] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)

    def report(self, what: str) -> None:
        unit = self.setting.meter.beat_unit if self.setting.meter else 4
        beat = self.cursor * unit / 4 + 1
        shown = str(beat) if beat.denominator == 1 else f"{float(beat):.4g}"
        self.problems.append(Problem(f"bar {self.number}, beat {shown}", what, _REMEDY))

    def advance(self, duration: Quarters) -> None:
        self.cursor += duration
        self.length = max(self.length, self.cursor)
        if self.length > LONGEST_BAR_QUARTERS:
            self.report("The bar is absurdly long.")
            self.cursor = self.length = Fraction(0)

    def show(self, onset: Quarters) -> None:
        self.first_shown = onset if self.first_shown is None else min(self.first_shown, onset)
