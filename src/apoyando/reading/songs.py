"""The door for songs: a lead sheet in MusicXML, MXL or ABC, or a full score in MusicXML or MIDI."""

from collections.abc import Sequence
from dataclasses import replace

from apoyando.model.errors import MissingHarmonyError, Problem
from apoyando.model.plan import ChordChange, Plan
from apoyando.model.song import ReadingRemark, Song
from apoyando.reading import abc, musicxml
from apoyando.reading.assembly import assemble_melody, assemble_song
from apoyando.reading.changed_chords import change_chords
from apoyando.reading.changed_notes import change_notes
from apoyando.reading.changed_signature import change_pickup, change_written_key
from apoyando.reading.doubtful_keys import remark_doubtful_key
from apoyando.reading.formats import Format, find_format
from apoyando.reading.full_scores import assemble_full_song, tells_too_little
from apoyando.reading.midi import draft_full_midi

_WHAT_IS_READ = "Bring the song as MusicXML (.musicxml, .mxl), as ABC (.abc) or as MIDI (.mid)."


def read_song(data: bytes, file_name: str, *, part: str = "", chords: Sequence[ChordChange] = ()) -> Song:
    """The song in a MusicXML, MXL, ABC or MIDI file; of several tunes the first, with a remark.

    Where a score has no chord symbols they are found in its accompaniment. ``part`` names
    the one that is the melody, ``chords`` are the player's own and win. Raises
    UnreadableSongError if the file is damaged, foreign or dangerous, MissingHarmonyError if
    it has a melody but neither chord symbols nor an accompaniment, and UsageError where
    there is no such part, bar or beat as the player names.
    """
    kind = find_format(data, file_name, _WHAT_IS_READ)
    return change_chords(_READERS[kind](data, file_name, part), chords)


def read_planned_song(data: bytes, file_name: str, plan: Plan) -> Song:
    """The song with all that the plan puts right in it: first the key, then the pickup, notes and chords.

    The bars and beats of notes and chords are counted with the pickup as it then is. Raises as
    ``read_song`` does.
    """
    song = change_written_key(read_song(data, file_name, part=plan.part), plan.written_key)
    song = change_notes(change_pickup(song, plan.pickup), plan.notes)
    song = change_chords(song, plan.chords)
    return song if plan.written_key else remark_doubtful_key(song)


def read_songs(data: bytes, file_name: str) -> tuple[Song, ...]:
    """All the songs in a file, in order: the tunes of an ABC tunebook, or the one score.

    Raises UnreadableSongError or MissingHarmonyError at the first that cannot be read.
    """
    if find_format(data, file_name, _WHAT_IS_READ) is not Format.ABC:
        return (read_song(data, file_name),)
    drafts = abc.draft_tunes(data, file_name)
    return tuple(assemble_song(draft, file_name, abc.HOW_TO_WRITE_CHORDS) for draft in drafts)


def read_sketch(data: bytes, file_name: str) -> tuple[Song, tuple[Problem, ...]]:
    """A tune in ABC that is still being written, with what it lacks: the chords may be missing.

    Raises UnreadableSongError where something is wrong, and not only missing.
    """
    try:
        return read_song(data, file_name), ()
    except MissingHarmonyError as error:
        return assemble_melody(next(abc.draft_tunes(data, file_name)), file_name), error.problems


def _read_musicxml(data: bytes, file_name: str, part: str) -> Song:
    """A lead sheet as it is; what has no chord symbols, or another melody than usual, as a full score."""
    draft = musicxml.draft_musicxml(data, file_name)
    chords = sum(chord.chord is not None for chord in draft.chords)
    if not part and not tells_too_little(chords, len(draft.bars)):
        return assemble_song(draft, file_name, musicxml.HOW_TO_WRITE_CHORDS)
    return assemble_full_song(musicxml.draft_full_score(data, file_name), file_name, part)


def _read_midi(data: bytes, file_name: str, part: str) -> Song:
    return assemble_full_song(draft_full_midi(data, file_name), file_name, part)


def _read_abc(data: bytes, file_name: str, part: str) -> Song:
    draft = next(abc.draft_tunes(data, file_name))
    others = abc.count_tunes(data) - 1
    texts = [f"The file holds {others} more tune{'s' if others > 1 else ''}; the first one is read."] * (
        others > 0
    )
    if part:
        texts.append("In ABC the melody is the first voice: the part that you named is not looked for.")
    draft = replace(draft, remarks=(*(ReadingRemark("", text) for text in texts), *draft.remarks))
    return assemble_song(draft, file_name, abc.HOW_TO_WRITE_CHORDS)


_READERS = {Format.MUSICXML: _read_musicxml, Format.MIDI: _read_midi, Format.ABC: _read_abc}
