"""Which format a file is in, by its content first and its suffix second."""

from apoyando.model.song import Song
from apoyando.reading.assembly import assemble_song
from apoyando.reading.musicxml import HOW_TO_WRITE_CHORDS as HOW_TO_WRITE_CHORDS_MUSICXML
from apoyando.reading.musicxml import draft_musicxml


def read_song(data: bytes, file_name: str) -> Song:
    """The song in a file; of several, the first, with a remark that there are more.

    Raises UnreadableSongError or MissingHarmonyError.
    """
    return assemble_song(draft_musicxml(data, file_name), file_name, HOW_TO_WRITE_CHORDS_MUSICXML)
