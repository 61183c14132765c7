"""A ``Draft`` settled into a ``Score``: ties merged, voices counted, octave settled.

The laws of ``Score`` are checked on the way out: whatever a file holds, what leaves here
obeys them.
"""

import re
from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import pairwise

from apoyando.model.errors import Problem, UnreadableSongError
from apoyando.model.instrument import STANDARD_TUNING, Place, Tuning
from apoyando.model.pitch import Pitch
from apoyando.model.score import Score, ScoreNote
from apoyando.model.song import Bar, ReadingRemark
from apoyando.model.time import Quarters, Span
from apoyando.reading.assembly import heading_of, order_remarks, settle_bars, settle_harmony
from apoyando.reading.draft import Draft, DraftNote
from apoyando.reading.harmonics import settle_harmonics
from apoyando.reading.hold_lines import settle_hold_lines
from apoyando.reading.melody_line import remark_on_loose_ties, remark_on_notes

_OCTAVE = 12
_SHARE_OF_PLACES = 0.9
"""So many of the places that are written must lie an octave off before the octave is doubted."""


def assemble_score(draft: Draft, file_name: str) -> Score:
    """The score of a draft. Raises UnreadableSongError if there are no notes."""
    bars, bar_remarks = settle_bars(draft)
    inside, cut_remarks = cut_at_the_end(draft.notes, bars)
    if not inside:
        problem = Problem("", "There are no notes in it.", "Write the notes and save it again.")
        raise UnreadableSongError(file_name, (problem,))
    notes, tie_remarks = settle_notes(inside, bars)
    notes, hold_remarks = settle_hold_lines(notes, draft.hold_lines, bars)
    notes, octave_remarks = _settle_octave(notes, draft.tuning or STANDARD_TUNING)
    notes, harmonic_remarks = settle_harmonics(notes, draft.tuning or STANDARD_TUNING, draft.capo, bars)
    harmony, harmony_remarks = settle_harmony(draft.chords, notes, bars)
    remarks = (
        *octave_remarks,
        *harmonic_remarks,
        *draft.remarks,
        *bar_remarks,
        *cut_remarks,
        *tie_remarks,
        *hold_remarks,
        *harmony_remarks,
    )
    score = Score(
        **heading_of(draft),
        bars=bars,
        notes=notes,
        harmony=harmony,
        arranger=draft.arranger,
        is_arranged=draft.is_arranged,
        tuning=draft.tuning,
        capo=draft.capo,
        has_tablature=draft.has_tablature,
        dynamics=draft.dynamics,
        barres=draft.barres,
        names_barres=draft.names_barres,
        diagrams=tuple(chord.onset for chord in draft.chords if chord.has_diagram),
        remarks=order_remarks(remarks, bars),
    )
    _check_laws(score)
    return score


def cut_at_the_end(
    notes: Sequence[DraftNote], bars: tuple[Bar, ...]
) -> tuple[list[DraftNote], tuple[ReadingRemark, ...]]:
    """A voice that overruns the last bar is cut there."""
    end = bars[-1].offset
    over = [note for note in notes if note.offset > end]
    inside = [
        note if note.offset <= end else replace(note, duration=end - note.onset, ties_on=False)
        for note in notes
        if note.onset < end
    ]
    return inside, remark_on_notes(bars, over, "A voice holds more than the last bar and is cut")


# --- ties and voices -----------------------------------------------------------------


def settle_notes(
    notes: Sequence[DraftNote], bars: tuple[Bar, ...]
) -> tuple[tuple[ScoreNote, ...], tuple[ReadingRemark, ...]]:
    """Ties merged, voices counted, in order of onset from the highest down."""
    ordered = sorted(notes, key=lambda note: (note.onset, -note.pitch.midi, _voice_order(note.voice)))
    merged, loose = _merge_ties(ordered)
    numbers = {voice: number for number, voice in enumerate(_voices(notes), 1)}
    settled = tuple(_score_note(note, numbers) for note in merged)
    return settled, remark_on_loose_ties(loose, bars)


def _voices(notes: Sequence[DraftNote]) -> list[str]:
    return sorted({note.voice for note in notes}, key=_voice_order)


def _voice_order(voice: str) -> tuple[list[int], str]:
    """Numbers as numbers, so that voice 10 comes after voice 2."""
    return [int(digits[:9]) for digits in re.findall(r"\d+", voice)], voice


def _merge_ties(notes: Sequence[DraftNote]) -> tuple[list[DraftNote], list[DraftNote]]:
    """Tied notes as one, whichever voice they go on in, and the notes whose tie leads nowhere."""
    merged: list[DraftNote] = []
    waiting: defaultdict[tuple[Quarters, int], list[int]] = defaultdict(list)
    for note in notes:
        before = waiting[note.onset, note.pitch.midi] if note.ties_back else []
        if before:
            same = [index for index in before if merged[index].voice == note.voice]
            place = (same or before)[0]
            before.remove(place)
            merged[place] = _prolonged(merged[place], note)
        else:
            place = len(merged)
            merged.append(note)
        if note.ties_on:
            waiting[note.offset, note.pitch.midi].append(place)
    return merged, [merged[place] for places in waiting.values() for place in places]


def _prolonged(note: DraftNote, by: DraftNote) -> DraftNote:
    return replace(
        note,
        duration=by.offset - note.onset,
        lyrics=note.lyrics or by.lyrics,
        has_fermata=note.has_fermata or by.has_fermata,
        lets_ring=note.lets_ring or by.lets_ring,
    )


def _score_note(note: DraftNote, numbers: dict[str, int]) -> ScoreNote:
    return ScoreNote(
        span=Span(note.onset, note.offset),
        pitch=note.pitch,
        voice=numbers[note.voice],
        given=note.given,
        lyrics=note.lyrics,
        has_fermata=note.has_fermata,
        is_rolled=note.is_rolled,
        is_harmonic=note.is_harmonic,
        lets_ring=note.lets_ring,
        role=note.role,
    )


# --- octave --------------------------------------------------------------------------


def _settle_octave(
    notes: tuple[ScoreNote, ...], tuning: Tuning
) -> tuple[tuple[ScoreNote, ...], tuple[ReadingRemark, ...]]:
    """Guitar music that was saved an octave off, as the strings and frets written in it show."""
    off = Counter(_semitones_off(notes, tuning))
    semitones, count = off.most_common(1)[0] if off else (0, 0)
    if abs(semitones) != _OCTAVE or count < _SHARE_OF_PLACES * off.total():
        return notes, ()
    octaves = semitones // _OCTAVE
    moved = tuple(replace(note, pitch=Pitch(note.pitch.name, note.pitch.octave - octaves)) for note in notes)
    word = "lower" if octaves > 0 else "higher"
    return moved, (
        ReadingRemark("", f"The strings and frets sound an octave {word} than the notes: read so."),
    )


def _semitones_off(notes: Sequence[ScoreNote], tuning: Tuning) -> Iterator[int]:
    for note in notes:
        string, fret = note.given.string, note.given.fret
        if string is not None and fret is not None and not note.is_harmonic:
            yield note.pitch.midi - tuning.note_at(Place(string, fret))


# --- laws ----------------------------------------------------------------------------


def _check_laws(score: Score) -> None:
    """A breach is a bug of the reader."""
    broken = [law for law, holds in _laws(score) if not holds]
    if broken:
        message = f"the score read from this file breaks a law: {', '.join(broken)}"
        raise AssertionError(message)


def _laws(score: Score) -> Iterator[tuple[str, bool]]:
    bars, notes = score.bars, score.notes
    yield "bars start at 0", bars[0].onset == 0
    yield "bars follow each other", all(one.offset == other.onset for one, other in pairwise(bars))
    yield "notes are in order", all(one.onset <= other.onset for one, other in pairwise(notes))
    yield "notes lie in the bars", all(note.onset >= 0 and note.offset <= score.duration for note in notes)
