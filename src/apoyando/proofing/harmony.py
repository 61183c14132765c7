"""The accompaniment plays tones of the chords, and the chords are the song's."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from apoyando.model.arrangement import Arrangement, Note
from apoyando.model.harmony import HarmonySpan, chord_tones
from apoyando.model.song import Song
from apoyando.model.time import Quarters, Span
from apoyando.proofing.certificate import Breach, Proof, Refutation, Rule, Witness, decide
from apoyando.proofing.moment import common_span
from apoyando.proofing.wording import name_note, show_breach


@dataclass(frozen=True, slots=True)
class _Stretch:
    """One chord's time and its tones as pitch classes, the root first; none for N.C."""

    span: Span
    root: int | None
    tones: frozenset[int]


def prove_harmony(arrangement: Arrangement, song: Song) -> Proof | Refutation:
    """Every accompaniment note belongs to its chord, at its onset and for as long as it is held.

    Where a chord is not wanted (N.C.) nothing belongs. Where the song leaves the harmony
    open no accompaniment starts, but what sounds may go on. The chords themselves are the
    song's, transposed: same root, same tones, at every moment for which the song has one.
    """
    stretches = tuple(_stretch(harmony) for harmony in arrangement.harmony)
    notes = [note for note in arrangement.notes if note.role.is_accompaniment]
    proof = Proof(rule=Rule.HARMONY, notes_checked=len(notes))
    return decide(
        proof,
        [
            *(witness for note in notes for witness in _faults(arrangement, stretches, note)),
            *_strange_chords(arrangement, stretches, song),
        ],
    )


def _stretch(harmony: HarmonySpan, semitones: int = 0) -> _Stretch:
    if harmony.chord is None:
        return _Stretch(harmony.span, None, frozenset())
    tones = (tone.name.pitch_class for tone in chord_tones(harmony.chord))
    return _Stretch(
        harmony.span,
        (harmony.chord.root.pitch_class + semitones) % 12,
        frozenset((tone + semitones) % 12 for tone in tones),
    )


def _faults(arrangement: Arrangement, stretches: Iterable[_Stretch], note: Note) -> Iterator[Witness]:
    lasting = [stretch for stretch in stretches if stretch.span.overlaps(note.span)]
    if not any(stretch.span.contains(note.onset) for stretch in lasting):
        yield _witness(arrangement, note.span, Breach.NO_CHORD, note)
    for stretch in lasting:
        if note.pitch.midi % 12 not in stretch.tones:
            starts_here = stretch.span.contains(note.onset)
            breach = Breach.NOT_A_TONE if starts_here else Breach.RUNS_INTO_CHORD
            breach = Breach.NO_CHORD if starts_here and stretch.root is None else breach
            yield _witness(arrangement, common_span(stretch.span, note.span), breach, note)


def _strange_chords(
    arrangement: Arrangement, stretches: tuple[_Stretch, ...], song: Song
) -> Iterator[Witness]:
    for harmony in song.harmony:
        wanted = _stretch(harmony, arrangement.transposition.semitones)
        if _time_of_same_chord(wanted, stretches) != wanted.span.duration:
            yield show_breach(arrangement.bars, Breach.CHORDS_DIFFER, harmony.span, Breach.CHORDS_DIFFER)


def _time_of_same_chord(wanted: _Stretch, stretches: Iterable[_Stretch]) -> Quarters:
    alike = (
        common_span(wanted.span, stretch.span).duration
        for stretch in stretches
        if stretch.span.overlaps(wanted.span) and (stretch.root, stretch.tones) == (wanted.root, wanted.tones)
    )
    return sum(alike, Quarters(0))


def _witness(arrangement: Arrangement, span: Span, breach: Breach, note: Note) -> Witness:
    return show_breach(arrangement.bars, breach, span, f"{name_note(note)}: {breach}", notes=(note,))
