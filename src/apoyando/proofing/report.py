"""What the arrangement says of itself speaks of places that are there."""

from collections.abc import Iterator

from apoyando.model.arrangement import Arrangement, GivenUpHold, Role
from apoyando.model.score import Score
from apoyando.model.song import Song, bar_at
from apoyando.model.time import Quarters
from apoyando.proofing.certificate import Breach, Proof, Refutation, Rule, Witness, decide
from apoyando.proofing.inversions import find_untold_inversions


def prove_report(arrangement: Arrangement, song: Song | Score) -> Proof | Refutation:
    """Every given-up hold, relaxation and melody change names a bar and a moment in that bar.

    Besides, a given-up hold belongs to a note of that pitch which really ends where it is
    said to, earlier than wanted; a melody change stands at a note of the song's melody, or of
    the score; and every bass with which a song's harmony enters in a bar and that is not its
    chord's own is told, as serving the line only where it does.
    """
    proof = Proof(rule=Rule.REPORT, notes_checked=len(arrangement.given_up_holds))
    return decide(
        proof,
        [
            *_unplaced(arrangement),
            *(_hold_witness(hold) for hold in arrangement.given_up_holds if not _is_true(arrangement, hold)),
            *_unsung_changes(arrangement, song),
            *(find_untold_inversions(arrangement) if isinstance(song, Song) else ()),
        ],
    )


def _unplaced(arrangement: Arrangement) -> Iterator[Witness]:
    entries = [
        *((hold.bar, hold.onset) for hold in arrangement.given_up_holds),
        *((step.bar, step.onset) for step in arrangement.relaxations),
        *((change.bar, change.onset) for change in arrangement.melody_changes),
    ]
    for bar, onset in entries:
        if not _is_in_bar(arrangement, bar, onset):
            yield _witness(bar, onset, f"Quarter {onset} is not in bar {bar}.")


def _is_in_bar(arrangement: Arrangement, bar: str, moment: Quarters) -> bool:
    if not arrangement.bars:
        return False
    there = bar_at(arrangement.bars, moment)
    return there.number == bar and there.span.contains(moment)


def _is_true(arrangement: Arrangement, hold: GivenUpHold) -> bool:
    is_there = any(
        note.onset == hold.onset and note.pitch == hold.pitch and note.offset == hold.held_until
        for note in arrangement.notes
    )
    return is_there and hold.held_until < hold.wanted_until


def _hold_witness(hold: GivenUpHold) -> Witness:
    sentence = (
        f"Bar {hold.bar}: no {hold.pitch} starts at quarter {hold.onset} and is held until "
        f"{hold.held_until} instead of {hold.wanted_until}."
    )
    return _witness(hold.bar, hold.onset, sentence)


def _unsung_changes(arrangement: Arrangement, song: Song | Score) -> Iterator[Witness]:
    """Changes at which no note begins: of the song, or of the piece where only its octave changed."""
    sung = {note.onset for note in (song.melody if isinstance(song, Song) else song.notes)}
    played = {note.onset for note in arrangement.voice(Role.MELODY)}
    for change in arrangement.melody_changes:
        if change.onset not in (sung if change.until is not None else sung | played):
            sentence = f"Bar {change.bar}: no note of the melody starts at quarter {change.onset}."
            yield _witness(change.bar, change.onset, sentence)
        if change.until is not None and change.until <= change.onset:
            sentence = f"Bar {change.bar}: the change at quarter {change.onset} is over at {change.until}."
            yield _witness(change.bar, change.onset, sentence)


def _witness(bar: str, onset: Quarters, sentence: str) -> Witness:
    breach = Breach.REPORT_NOWHERE
    return Witness(breach=breach, bar=bar, onset=onset, offset=onset, sentence=sentence)
