"""A piece of a song or of a score, and the files that are made of it."""

from collections.abc import Mapping
from dataclasses import dataclass

from apoyando.engraving import engrave_both
from apoyando.model.arrangement import Arrangement
from apoyando.model.plan import Plan
from apoyando.model.ring import Ring
from apoyando.model.score import Score
from apoyando.model.song import Song
from apoyando.proofing import Certificate
from apoyando.reading import write_plan
from apoyando.report import Entry, Verdict
from apoyando.sound import write_midi

MUSICXML, PDF, MIDI, REPORT, PLAN = ".musicxml", ".pdf", ".mid", ".report.json", ".plan.toml"
OUTPUT_SUFFIXES = (PDF, MUSICXML, MIDI, REPORT, PLAN)


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """The piece of a song or a score, with its proof. ``outputs`` are whole files by the suffix of their names.

    ``plan`` holds every decision that was made; with it the same song gives the same bytes.
    ``verdict`` is what was found in it, once: lesson, practice set and hold chart go by it.
    """

    song: Song | Score
    plan: Plan
    arrangement: Arrangement
    verdict: Verdict
    report: Entry
    outputs: Mapping[str, bytes]

    @property
    def certificate(self) -> Certificate:
        return self.verdict.certificate

    @property
    def rings(self) -> tuple[Ring, ...]:
        """How long its accompaniment can ring."""
        return self.verdict.rings


def write_outputs(arrangement: Arrangement, plan: Plan, report: bytes) -> Mapping[str, bytes]:
    pdf, musicxml = engrave_both(arrangement, plan.page)
    return {
        PDF: pdf,
        MUSICXML: musicxml,
        MIDI: write_midi(arrangement),
        REPORT: report,
        PLAN: write_plan(plan).encode(),
    }
