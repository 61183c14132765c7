"""A fingered score is the score: every note, its length, and what was written of its fingering.

Conventions: a unison written in two voices is one sound and two notes. The piece may be
moved by ``transposition``, whole octaves. What the arrangement lists as given up is free.
"""

from collections import defaultdict
from collections.abc import Callable, Hashable, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from typing import TypeVar

from apoyando.model.arrangement import Arrangement, Note, RelaxationStep
from apoyando.model.pitch import Interval, Pitch
from apoyando.model.score import Score, ScoreNote
from apoyando.model.time import Quarters
from apoyando.proofing.certificate import Breach, Proof, Refutation, Rule, Witness, decide
from apoyando.proofing.wording import name_note, show_breach

_Key = tuple[Quarters, Pitch]
_Item = TypeVar("_Item")
_Group = TypeVar("_Group", bound=Hashable)


def prove_score(arrangement: Arrangement, score: Score) -> Proof | Refutation:
    """Every note of the score is there, at its pitch, as long as written, and none besides.

    A note may be missing only where the arrangement leaves one to the player, be shorter
    only where that is listed as a hold given up, and depart from the string, fret and finger
    that are written only where that is listed. Written plucking letters are kept.
    """
    wanted = _grouped(score.notes, lambda note: _key(note, arrangement.transposition))
    played = _grouped(arrangement.notes, lambda note: (note.onset, note.pitch))
    proof = Proof(rule=Rule.SCORE, notes_checked=len(score.notes))
    return decide(
        proof,
        [
            *_missing(arrangement, wanted, played),
            *_added(arrangement, wanted, played),
            *(
                witness
                for key, written in wanted.items()
                for witness in _departures(arrangement, written, played.get(key, []))
            ),
            *_other_plucks(arrangement, score),
        ],
    )


def merge_unisons(arrangement: Arrangement) -> Arrangement:
    """The arrangement with one note for each sound: of a unison on one place the longest."""
    longest: dict[Hashable, Note] = {}
    for note in arrangement.notes:
        key = note.onset, note.place, note.finger
        if key not in longest or note.offset > longest[key].offset:
            longest[key] = note
    return replace(arrangement, notes=tuple(longest.values()))


def _key(note: ScoreNote, transposition: Interval) -> _Key:
    return note.onset, note.pitch.transposed(transposition)


def _missing(
    arrangement: Arrangement,
    wanted: Mapping[_Key, Sequence[ScoreNote]],
    played: Mapping[_Key, Sequence[Note]],
) -> Iterator[Witness]:
    """At each moment as many pitches may be missing as are left to the player there."""
    left = _grouped(
        (step for step in arrangement.relaxations if step.step is RelaxationStep.PLAYER_DECIDES),
        lambda step: step.onset,
    )
    absent = (key for key in wanted if len(played.get(key, ())) < len(wanted[key]))
    for onset, keys in _grouped(absent, lambda key: key[0]).items():
        for key in keys[len(left.get(onset, ())) :]:
            fault = f"{key[1]} of the score is missing"
            yield show_breach(arrangement.bars, Breach.SCORE_NOTE_MISSING, wanted[key][0].span, fault)


def _added(
    arrangement: Arrangement,
    wanted: Mapping[_Key, Sequence[ScoreNote]],
    played: Mapping[_Key, Sequence[Note]],
) -> Iterator[Witness]:
    for key, notes in played.items():
        for note in notes[len(wanted.get(key, ())) :]:
            fault = f"{name_note(note)} is not in the score"
            yield show_breach(arrangement.bars, Breach.SCORE_NOTE_ADDED, note.span, fault, notes=(note,))


def _departures(
    arrangement: Arrangement, written: Sequence[ScoreNote], played: Sequence[Note]
) -> Iterator[Witness]:
    """Notes of one pitch and onset, the longest beside the longest."""
    longest = sorted(written, key=lambda wanted: -wanted.duration)
    for wanted, note in zip(longest, sorted(played, key=lambda note: -note.duration), strict=False):
        if note.offset != wanted.offset and not _is_given_up(arrangement, wanted, note):
            fault = f"{name_note(note)} lasts {note.duration} quarters, in the score {wanted.duration}"
            yield show_breach(arrangement.bars, Breach.SCORE_NOTE_LENGTH, note.span, fault, notes=(note,))
        if note.is_harmonic is not wanted.is_harmonic or not _keeps(arrangement, wanted, note):
            yield _otherwise(arrangement, note)


def _other_plucks(arrangement: Arrangement, score: Score) -> Iterator[Witness]:
    """A unison has one plucking letter, of those that are written in its voices, however they spell it."""
    semitones = arrangement.transposition.semitones
    letters = _grouped(
        (note for note in score.notes if note.given.pluck),
        lambda note: (note.onset, note.pitch.midi + semitones),
    )
    for note in arrangement.notes:
        written = letters.get((note.onset, note.pitch.midi), ())
        if written and note.pluck not in {wanted.given.pluck for wanted in written}:
            yield _otherwise(arrangement, note)


def _otherwise(arrangement: Arrangement, note: Note) -> Witness:
    fault = f"{name_note(note)} is not fingered as the score has it"
    return show_breach(arrangement.bars, Breach.FINGERING_CHANGED, note.span, fault, notes=(note,))


def _is_given_up(arrangement: Arrangement, wanted: ScoreNote, note: Note) -> bool:
    return any(
        (hold.onset, hold.pitch) == (note.onset, note.pitch)
        and (hold.wanted_until, hold.held_until) == (wanted.offset, note.offset)
        for hold in arrangement.given_up_holds
    )


def _keeps(arrangement: Arrangement, wanted: ScoreNote, note: Note) -> bool:
    given = wanted.given
    is_kept = (
        given.string in (None, note.place.string)
        and given.fret in (None, note.place.fret)
        and given.finger in (None, note.finger)
    )
    return is_kept or any(
        step.step is RelaxationStep.FINGERING_LET_GO and step.onset == note.onset
        for step in arrangement.relaxations
    )


def _grouped(items: Iterable[_Item], key: Callable[[_Item], _Group]) -> Mapping[_Group, list[_Item]]:
    groups: defaultdict[_Group, list[_Item]] = defaultdict(list)
    for item in items:
        groups[key(item)].append(item)
    return groups
