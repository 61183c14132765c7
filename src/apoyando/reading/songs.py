"""The door for songs: a lead sheet in MusicXML, MXL or ABC."""

from dataclasses import replace

from apoyando.model.errors import Problem, UnreadableSongError
from apoyando.model.song import ReadingRemark, Song
from apoyando.reading import abc, musicxml
from apoyando.reading.assembly import assemble_song
from apoyando.reading.formats import Format, find_format

_WHAT_IS_READ = "Bring the song as MusicXML (.musicxml, .mxl) or as ABC (.abc)."


def read_song(data: bytes, file_name: str) -> Song:
    """The song in a MusicXML, MXL or ABC file; of several tunes the first, with a remark.

    Raises UnreadableSongError if the file is damaged, foreign or dangerous, and
    MissingHarmonyError if it has a melody but no chord symbols.
    """
    if _find_format(data, file_name) is Format.MUSICXML:
        draft = musicxml.draft_musicxml(data, file_name)
        return assemble_song(draft, file_name, musicxml.HOW_TO_WRITE_CHORDS)
    draft = next(abc.draft_tunes(data, file_name))
    others = abc.count_tunes(data) - 1
    if others:
        text = f"The file holds {others} more tune{'s' if others > 1 else ''}; the first one is read."
        draft = replace(draft, remarks=(ReadingRemark("", text), *draft.remarks))
    return assemble_song(draft, file_name, abc.HOW_TO_WRITE_CHORDS)


def read_songs(data: bytes, file_name: str) -> tuple[Song, ...]:
    """All the songs in a file, in order: the tunes of an ABC tunebook, or the one score.

    Raises UnreadableSongError or MissingHarmonyError at the first that cannot be read.
    """
    if _find_format(data, file_name) is Format.MUSICXML:
        return (read_song(data, file_name),)
    drafts = abc.draft_tunes(data, file_name)
    return tuple(assemble_song(draft, file_name, abc.HOW_TO_WRITE_CHORDS) for draft in drafts)


def _find_format(data: bytes, file_name: str) -> Format:
    found = find_format(data, file_name, _WHAT_IS_READ)
    if found is Format.MIDI:
        what = "The file is a MIDI file, which has no chord symbols."
        raise UnreadableSongError(file_name, (Problem("", what, _WHAT_IS_READ),))
    return found
