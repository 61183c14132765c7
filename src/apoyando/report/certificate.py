"""What is proven, and what goes over the level."""

from apoyando.model.arrangement import Arrangement
from apoyando.proofing import Certificate, Finding, Proof, Refutation, WidestSpan
from apoyando.report.entries import Entry, place


def describe_finding(arrangement: Arrangement, finding: Finding) -> Entry:
    return {
        **place(arrangement.bars, finding.onset),
        "rule": str(finding.rule),
        "sentence": finding.sentence,
    }


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
