"""What an arrangement costs as it stands, whatever question it was the answer to.

A bar that is made easier for its level is the answer to a narrower question, in which stopped notes are
dearer and holds are let go for nothing. What it really costs is what the stated prices ask for its notes.
"""

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from apoyando.arranging.lock_places import list_onsets
from apoyando.arranging.posed import PosedSong
from apoyando.fingering import NOWHERE, Candidate, Problem, Searcher, Slice, VoiceSlice
from apoyando.model.arrangement import Arrangement, Note, Role
from apoyando.model.instrument import Tuning
from apoyando.model.time import Quarters

_Struck = Mapping[tuple[Role, Quarters], Sequence[Note]]
"""What begins in a voice at a moment."""


def price_as_played(posed: PosedSong, arrangement: Arrangement, searcher: Searcher) -> int:
    """The price of an arrangement's notes, each on its string and by its finger, by the song's own question.

    Each bar is fingered for itself. ``arrangement`` answers that question or a narrower one.
    """
    return searcher.find_best_way(_fix_notes(posed, arrangement), proof_rounds=0).price


def _fix_notes(posed: PosedSong, arrangement: Arrangement) -> Problem:
    """The song's question with no other notes to choose from than those of the arrangement."""
    struck: dict[tuple[Role, Quarters], list[Note]] = defaultdict(list)
    for note in arrangement.notes:
        struck[note.role, note.onset].append(note)
    return replace(posed.problem, slices=tuple(_fix_slices(posed, struck)), alike=())


def _fix_slices(posed: PosedSong, struck: _Struck) -> Iterator[Slice]:
    tuning, roles = posed.setting.tuning, posed.plot.roles
    onsets = {role: list_onsets(posed.plot, role) for role in Role}
    for plotted, slice_ in zip(posed.slices, posed.problem.slices, strict=True):
        voices = (
            voice if entry is None else _fix_voice(voice, struck.get((role, onsets[role][entry]), ()), tuning)
            for voice, role, entry in zip(slice_.voices, roles, plotted.entries, strict=True)
        )
        yield replace(slice_, voices=tuple(voices))


def _fix_voice(voice: VoiceSlice, notes: Sequence[Note], tuning: Tuning) -> VoiceSlice:
    return replace(voice, candidates=tuple(_fix(each, notes, tuning) for each in voice.candidates))


def _fix(candidate: Candidate, notes: Sequence[Note], tuning: Tuning) -> Candidate:
    here = [note for note in notes if tuning.note_at(note.place) == candidate.note]
    if not here:
        return replace(candidate, highest_fret=NOWHERE)
    return replace(
        candidate,
        strings=tuple(note.place.string for note in here),
        fingers=tuple(note.finger for note in here),
    )
