"""A full score without chord symbols to a ``Song``: the melody chosen, the chords found."""

from collections.abc import Sequence
from dataclasses import replace

from apoyando.model.bar_names import list_bars
from apoyando.model.errors import MissingHarmonyError, Problem, UnreadableSongError
from apoyando.model.harmony import ChordOrigin
from apoyando.model.score import ScoreNote
from apoyando.model.song import Bar, ReadingRemark, Song, bar_at
from apoyando.model.time import Quarters
from apoyando.reading.assembly import assemble_melody, settle_bars
from apoyando.reading.draft import Draft, DraftChord, DraftNote
from apoyando.reading.lines import ChosenLine, FullDraft, choose_line
from apoyando.reading.melody_line import settle_melody
from apoyando.reading.minor_keys import settle_minor_key
from apoyando.reading.score_assembly import cut_at_the_end, settle_notes

LEAST_ACCOMPANIMENT = 0.25
"""With less sound under the tune than this share of its own there is no harmony to be found."""
BARS_OF_ONE_CHORD = 8
"""A song changes its chord more often than once in so many bars (common practice, no source)."""
WHAT_HARMONY_NEEDS = (
    "Write chord symbols above the staff, as Am or G7, or bring the score with its accompaniment: "
    "then the chords are found in it."
)


def assemble_full_song(full: FullDraft, file_name: str, part: str) -> Song:
    """The song of a full score; chords that are written are kept, else they are found.

    ``part`` names the line that the player wants, "" to choose. Raises
    UnreadableSongError without notes, MissingHarmonyError where neither chord symbols nor
    an accompaniment tell the harmony, UsageError where there is no such line.
    """
    draft = full.draft
    if not draft.notes:
        problem = Problem("", "There are no notes in it.", "Write the music and save the file again.")
        raise UnreadableSongError(file_name, (problem,))
    bars, _ = settle_bars(draft)
    chosen = choose_line(full.lines, part, bars[-1].offset)
    written = sum(chord.chord is not None for chord in draft.chords)
    if tells_too_little(written, len(bars)):
        draft = _with_found_chords(draft, bars, chosen, file_name)
    song = assemble_melody(replace(draft, notes=chosen.line.notes), file_name)
    return replace(song, melody_source=chosen.source if len(full.lines) > 1 else None)


def tells_too_little(chords: int, bars: int) -> bool:
    """Whether so few chord symbols are a mistake: stray letters in a score that has none."""
    return chords == 0 or chords * BARS_OF_ONE_CHORD < bars


def _with_found_chords(draft: Draft, bars: tuple[Bar, ...], chosen: ChosenLine, file_name: str) -> Draft:
    written = [chord for chord in draft.chords if chord.chord]
    notes, tune = _tell_apart(draft.notes, chosen.line.notes, bars)
    if _sound_of(notes) - _sound_of(tune) < _sound_of(tune) * Quarters(LEAST_ACCOMPANIMENT):
        if written:
            return draft
        what = "The melody is there, but neither chord symbols nor an accompaniment: the harmony is missing."
        raise MissingHarmonyError(file_name, (Problem("", what, WHAT_HARMONY_NEEDS),))
    from apoyando.reading.harmony import find_chords  # noqa: PLC0415 - heavy

    chords = find_chords(notes, bars, tune)
    found = tuple(replace(chord, origin=ChordOrigin.FOUND) for chord in chords)
    remarks = (_CHORDS_FOUND, *_remark_on_written(written, bars))
    return settle_minor_key(replace(draft, chords=found, remarks=(*remarks, *draft.remarks)))


def _remark_on_written(written: Sequence[DraftChord], bars: tuple[Bar, ...]) -> tuple[ReadingRemark, ...]:
    if not written:
        return ()
    numbers = list_bars(bar_at(bars, chord.onset).number for chord in written)
    text = f"Chord symbols stand in so few bars ({numbers}) that they are taken for stray words and left out."
    return (ReadingRemark("", text),)


_CHORDS_FOUND = ReadingRemark(
    "",
    "The chord symbols are not written: the chords are found in the notes. Look them through, "
    "and put right under [[chords]] in the plan what you would have otherwise.",
)


def _tell_apart(
    notes: Sequence[DraftNote], line: Sequence[DraftNote], bars: tuple[Bar, ...]
) -> tuple[tuple[ScoreNote, ...], tuple[ScoreNote, ...]]:
    """All notes with ties merged, and those of the melody among them."""
    settled, _ = settle_notes(cut_at_the_end(notes, bars)[0], bars)
    melody, _ = settle_melody(line, bars)
    places = {(note.onset, note.pitch.midi) for note in melody}
    return settled, tuple(note for note in settled if (note.onset, note.pitch.midi) in places)


def _sound_of(notes: Sequence[ScoreNote]) -> Quarters:
    return sum((note.duration for note in notes), Quarters(0))
