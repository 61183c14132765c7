"""The melody is the song's, and it is on top.

Conventions: the arrangement may transpose the song by ``transposition`` and, as a whole,
by octaves besides. What else departs from the song is listed as a melody change: a note may
have another octave, and the notes of a stretch may be set anew (``melody_changes``).
"""

from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from apoyando.model.arrangement import Arrangement, Note, Role
from apoyando.model.pitch import Pitch
from apoyando.model.song import MelodyNote, Song
from apoyando.model.time import Quarters
from apoyando.proofing.certificate import Breach, Proof, Refutation, Rule, Witness, decide
from apoyando.proofing.melody_changes import ChangedMelody, find_false_changes
from apoyando.proofing.moment import Pair, common_span, find_pairs, sweep
from apoyando.proofing.wording import name_note, show_breach

Played = Mapping[Quarters, Sequence[Note]]
"""The arrangement's melody notes by their onsets."""


def prove_melody(arrangement: Arrangement, song: Song) -> Proof | Refutation:
    """The song's melody is there note for note, and nothing sounds at or above it.

    Onset, length, pitch and spelling are exact, and no note is added, except where a
    melody change is listed; there the change is as it is listed, and takes nothing that must
    stay (``find_false_changes``). Every accompaniment note lies strictly below each melody note
    that it sounds with, and every bass note strictly below each such inner note.
    """
    moments = sweep(arrangement.notes)
    task = _Comparison(arrangement, song)
    proof = Proof(rule=Rule.MELODY, notes_checked=len(arrangement.notes), moments_checked=len(moments))
    return decide(
        proof,
        [
            *_departures(task),
            *_additions(task),
            *find_false_changes(ChangedMelody(arrangement, song, task.octaves)),
            *(_crossing(arrangement, pair, Breach.MELODY_COVERED) for pair in find_pairs(moments, covers)),
            *(_crossing(arrangement, pair, Breach.VOICES_CROSSED) for pair in find_pairs(moments, swaps)),
        ],
    )


def covers(one: Note, other: Note) -> bool:
    """Whether of two notes that sound together one is accompaniment and not below the melody."""
    if one.role.is_accompaniment is other.role.is_accompaniment:
        return False
    below, melody = (one, other) if one.role.is_accompaniment else (other, one)
    return below.pitch.midi >= melody.pitch.midi


def swaps(one: Note, other: Note) -> bool:
    """Whether of two notes that sound together the bass is not below the inner voice."""
    if {one.role, other.role} != {Role.BASS, Role.INNER}:
        return False
    bass, inner = (one, other) if one.role is Role.BASS else (other, one)
    return bass.pitch.midi >= inner.pitch.midi


@dataclass(frozen=True, slots=True)
class _Comparison:
    """The song beside the arrangement."""

    arrangement: Arrangement
    song: Song

    @property
    def melody(self) -> tuple[Note, ...]:
        return self.arrangement.voice(Role.MELODY)

    @property
    def played(self) -> Played:
        by_onset: defaultdict[Quarters, list[Note]] = defaultdict(list)
        for note in self.melody:
            by_onset[note.onset].append(note)
        return by_onset

    @property
    def kept(self) -> tuple[tuple[int, MelodyNote], ...]:
        """The notes of the song that no change sets anew, with their indices."""
        return tuple(entry for entry in enumerate(self.song.melody) if not self.is_set_anew(entry[1].onset))

    @property
    def octaves(self) -> int:
        """By how many octaves the whole melody is shifted besides the transposition: the commonest."""
        sung, refolded = dict(enumerate(self.song.melody)), self.refolded
        shifts = [
            note.pitch.midi - self.expected(sung[note.source]).midi
            for note in self.melody
            if note.source in sung and note.onset not in refolded
        ]
        whole = Counter(shift // 12 for shift in shifts if shift % 12 == 0)
        return max(whole, key=lambda octaves: (whole[octaves], -abs(octaves)), default=0)

    @property
    def refolded(self) -> frozenset[Quarters]:
        """The onsets of the notes that a change puts into another octave."""
        return frozenset(change.onset for change in self.arrangement.melody_changes if change.until is None)

    def is_set_anew(self, onset: Quarters) -> bool:
        return any(
            change.until is not None and change.covers(onset) for change in self.arrangement.melody_changes
        )

    def expected(self, sung: MelodyNote) -> Pitch:
        return sung.pitch.transposed(self.arrangement.transposition)


def _departures(task: _Comparison) -> Iterator[Witness]:
    played, octaves, refolded = task.played, task.octaves, task.refolded
    for index, sung in task.kept:
        expected = task.expected(sung)
        found = played.get(sung.onset)
        if not found:
            fault = f"{expected.name}, a note of the melody, is missing"
            yield show_breach(task.arrangement.bars, Breach.MELODY_MISSING, sung.span, fault)
            continue
        wanted = None if sung.onset in refolded else Pitch(expected.name, expected.octave + octaves)
        yield from _differences(task.arrangement, found[0], sung, wanted, index)


def _differences(
    arrangement: Arrangement, note: Note, sung: MelodyNote, wanted: Pitch | None, index: int
) -> Iterator[Witness]:
    """How a note departs from the song's; ``wanted`` is None where a change gives the pitch."""
    if wanted is not None and note.pitch != wanted:
        fault = f"{name_note(note)} sounds {note.pitch}, the melody has {wanted}"
        yield show_breach(arrangement.bars, Breach.MELODY_PITCH, note.span, fault, notes=(note,))
    if note.duration != sung.duration:
        fault = f"{name_note(note)} lasts {note.duration} quarters, in the melody {sung.duration}"
        yield show_breach(arrangement.bars, Breach.MELODY_LENGTH, note.span, fault, notes=(note,))
    if note.source != index:
        fault = f"{name_note(note)} names melody note {note.source} as its source, not {index}"
        yield show_breach(arrangement.bars, Breach.MELODY_SOURCE, note.span, fault, notes=(note,))


def _additions(task: _Comparison) -> Iterator[Witness]:
    """Melody notes that stand for no note of the song; the second of two at one onset is one."""
    sung = {note.onset for _, note in task.kept}
    for onset, notes in task.played.items():
        is_expected = onset in sung or task.is_set_anew(onset)
        for note in notes[1:] if is_expected else notes:
            fault = f"{name_note(note)} is not in the song's melody"
            yield show_breach(task.arrangement.bars, Breach.MELODY_ADDED, note.span, fault, notes=(note,))


def _crossing(arrangement: Arrangement, pair: Pair, breach: Breach) -> Witness:
    one, other = pair
    fault = f"{one.role} {one.pitch} and {other.role} {other.pitch}: {breach}"
    return show_breach(arrangement.bars, breach, common_span(one.span, other.span), fault, notes=pair)
