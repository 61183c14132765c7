"""The door for scores: music for guitar that is there already and is to be fingered."""

from apoyando.model.errors import Problem, UnreadableSongError
from apoyando.model.score import Score
from apoyando.reading import musicxml
from apoyando.reading.formats import Format, find_format
from apoyando.reading.midi import draft_midi
from apoyando.reading.score_assembly import assemble_score

WHAT_IS_READ = "Bring the piece as MusicXML (.musicxml, .mxl) or as a MIDI file (.mid)."


def read_score(data: bytes, file_name: str) -> Score:
    """The music for one guitar in a MusicXML, MXL or Standard MIDI file, all voices.

    What the file says of strings, frets and fingers comes with its notes. Raises
    UnreadableSongError if the file is damaged, foreign or dangerous, or holds no notes.
    """
    kind = find_format(data, file_name, WHAT_IS_READ)
    if kind is Format.MUSICXML:
        return assemble_score(musicxml.draft_guitar_score(data, file_name), file_name)
    if kind is Format.MIDI:
        return assemble_score(draft_midi(data, file_name), file_name)
    what = f"The file is {kind.value}, and a score for guitar is needed."
    raise UnreadableSongError(file_name, (Problem("", what, WHAT_IS_READ),))
