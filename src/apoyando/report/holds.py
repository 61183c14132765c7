"""What is held, what was let go, and how long it can ring."""

from collections.abc import Mapping, Sequence

from apoyando.model.arrangement import Arrangement, GivenUpHold
from apoyando.model.pitch import Pitch
from apoyando.model.ring import Remedy, Ring
from apoyando.model.time import Quarters
from apoyando.report.entries import Entry, place


def describe_holds(arrangement: Arrangement, rings: Sequence[Ring]) -> Entry:
    given_up = arrangement.given_up_holds
    ring_of = {(ring.note.onset, ring.note.pitch): ring for ring in rings}
    return {
        "kept": len(arrangement.notes) - len(given_up),
        "given_up": [_describe_hold(arrangement, each, ring_of) for each in given_up],
        "ring": [_describe_ring(arrangement, each) for each in rings],
    }


def _describe_hold(
    arrangement: Arrangement, hold: GivenUpHold, ring_of: Mapping[tuple[Quarters, Pitch], Ring]
) -> Entry:
    ring = ring_of.get((hold.onset, hold.pitch))
    return {
        **place(arrangement.bars, hold.onset),
        "pitch": str(hold.pitch),
        "wanted_until": str(hold.wanted_until),
        "held_until": str(hold.held_until),
        "reason": hold.reason,
        **(_describe_ring_end(ring) if ring else {}),
    }


def _describe_ring(arrangement: Arrangement, ring: Ring) -> Entry:
    note = ring.note
    return {
        **place(arrangement.bars, note.onset),
        "voice": str(note.role),
        "pitch": str(note.pitch),
        "string": note.place.string,
        "written_until": str(note.offset),
        "wanted_until": str(ring.wanted_until),
        **_describe_ring_end(ring),
    }


def _describe_ring_end(ring: Ring) -> Entry:
    return {
        "rings_until": str(ring.until),
        "ended_by": str(ring.ending),
        "ending": ring.sentence,
        "remedy": _describe_remedy(ring.remedy) if ring.remedy else None,
    }


def _describe_remedy(remedy: Remedy) -> Entry:
    return {"rings_until": str(remedy.rings_until), "sentence": remedy.sentence}
