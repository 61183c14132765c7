"""What is proven, and what goes over the level."""

from math import floor

from apoyando.model.arrangement import Arrangement
from apoyando.proofing import Certificate, Finding, LevelRule, Proof, Refutation, WidestSpan
from apoyando.report.entries import Entry, place


def describe_finding(arrangement: Arrangement, finding: Finding) -> Entry:
    return {
        **place(arrangement.bars, finding.onset),
        "rule": str(finding.rule),
        "sentence": finding.sentence,
        "of_tune": finding.is_of_tune,
        "remedy": _name_remedy(finding) if finding.is_of_tune else None,
    }


_REMEDIES = {
    LevelRule.KEY: "The key asks it, whatever is played: take another one.",
    LevelRule.HIGHEST_FRET: "The tune alone lies as high as that: take another key, or the tune an octave lower.",
    LevelRule.SHIFT: "The tune alone asks for such a shift: another key may lie better.",
    LevelRule.TEMPO: "The tune alone is as quick as that: take it slower, up to ♩ = {tempo}, or take a harder level.",
    LevelRule.SHORTEST: "The tune alone has so short a value: make its rhythm simpler, or take a harder level.",
}
_SHIFT_SLOWER = "The tune alone asks for such a shift: up to ♩ = {tempo} there is time for it."
_SHIFT_ANYWAY = (
    "The tune alone asks for such a shift: make its rhythm simpler, or take another key or a harder level."
)


def _name_remedy(finding: Finding) -> str:
    """What helps where the tune alone is beyond the level, and no lighter accompaniment would."""
    by_shift = _SHIFT_ANYWAY if finding.kept_at is None else _SHIFT_SLOWER
    tempo = "" if finding.kept_at is None else f"{floor(finding.kept_at)}"
    return _REMEDIES.get(finding.rule, by_shift).format(tempo=tempo)


def describe_certificate(arrangement: Arrangement, certificate: Certificate) -> Entry:
    return {
        "proven": certificate.is_proven,
        "rules": [_describe_answer(arrangement, answer) for answer in certificate.answers],
    }


def _describe_answer(arrangement: Arrangement, answer: Proof | Refutation) -> Entry:
    if isinstance(answer, Refutation):
        return {
            "rule": str(answer.rule),
            "holds": False,
            "witnesses": [each.sentence for each in answer.witnesses],
        }
    widest = {"widest": _describe_widest(arrangement, answer.widest)} if answer.widest else {}
    return {
        "rule": str(answer.rule),
        "holds": True,
        "notes_checked": answer.notes_checked,
        "moments_checked": answer.moments_checked,
        **widest,
    }


def _describe_widest(arrangement: Arrangement, widest: WidestSpan) -> Entry:
    return {
        **place(arrangement.bars, widest.onset),
        "span_mm": round(widest.span_mm, 1),
        "notes": [f"{note.pitch}, {note.place}, finger {note.finger:d}" for note in widest.notes],
    }
