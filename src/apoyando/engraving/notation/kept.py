"""What stays down: how long each note is kept, how long it may ring, and whether the hand ends it.

The rings come from the proof (``model.ring``); here they are joined with the notes for
what is to be drawn. Without them every note ends where it is written to end.
"""

from collections.abc import Container, Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import groupby

from apoyando.model.arrangement import Arrangement, Note, Role
from apoyando.model.pitch import Pitch
from apoyando.model.ring import Ring
from apoyando.model.time import Quarters

_FOREMOST = {Role.MELODY: 0, Role.BASS: 1, Role.INNER: 2}


@dataclass(frozen=True, slots=True)
class Kept:
    """A note, which keeps its string and its finger for all of its span.

    ``until`` is where its sound ends at the latest. ``is_cut``: it ends there because the hand
    needs its finger or its string, and not because the music goes on.
    Law: ``note.offset <= until``.
    """

    note: Note
    until: Quarters
    is_cut: bool = False


def keep_notes(arrangement: Arrangement, rings: Iterable[Ring] = ()) -> tuple[Kept, ...]:
    """Every note in order of time; of a unison on one place the longest, as the melody's if it is in it."""
    by_note = {ring.note: ring for ring in rings}
    given_up = {(hold.onset, hold.pitch) for hold in arrangement.given_up_holds}
    kept: list[Kept] = []
    ordered = sorted(arrangement.notes, key=lambda note: (note.onset, note.place, _FOREMOST[note.role]))
    for _, unison in groupby(ordered, key=lambda note: (note.onset, note.place)):
        kept.append(_join([_keep(note, by_note.get(note), given_up) for note in unison]))
    return tuple(kept)


def _keep(note: Note, ring: Ring | None, given_up: Container[tuple[Quarters, Pitch]]) -> Kept:
    if ring is None:
        return Kept(note, note.offset, (note.onset, note.pitch) in given_up)
    return Kept(note, ring.until, ring.ending.is_loss and ring.until < ring.wanted_until)


def _join(unison: Sequence[Kept]) -> Kept:
    """One sound: as long as the longest, in the foremost role."""
    longest = max(unison, key=lambda kept: (kept.note.offset, kept.until))
    return replace(longest, note=replace(longest.note, role=unison[0].note.role))
