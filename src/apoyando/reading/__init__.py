"""The reading room: bytes in, ``Song`` or ``Score`` out, errors that point at the place.

    read_song, read_songs       a lead sheet or a full score, in MusicXML, MXL, ABC 2.1 or MIDI -> Song
    read_planned_song           the same as its plan puts it right
    read_sketch                 a tune in ABC that is still being typed
    read_score                  guitar music in MusicXML, MXL or MIDI -> Score
    read_plan, write_plan       a plan file and back; change_plan: some entries; list_entries: which it has
    rewrite_plan, move_pickup   a plan file changed and else left as it was written; a plan with another pickup
    read_sheet, write_sheet     the page of a plan
    read_levels                 a table of levels; load_default_levels, load_default_table: the program's own
    read_chord_symbol           one chord as people type it

Each format has its room (``musicxml``, ``abc``, ``midi``) and gives a ``draft``, which ``assembly`` or
``score_assembly`` settles; ``harmony`` finds the chords where none are written.
"""

from apoyando.reading.chord_symbols import ChordReading, read_chord_symbol
from apoyando.reading.kept_plan import rewrite_plan
from apoyando.reading.level_table import load_default_levels, load_default_table, read_levels
from apoyando.reading.moved_pickup import move_pickup
from apoyando.reading.page_entries import read_sheet, write_sheet
from apoyando.reading.plan import change_plan, list_entries, read_plan, write_plan
from apoyando.reading.scores import read_score
from apoyando.reading.songs import read_planned_song, read_sketch, read_song, read_songs

__all__ = [
    "ChordReading",
    "change_plan",
    "list_entries",
    "load_default_levels",
    "load_default_table",
    "move_pickup",
    "read_chord_symbol",
    "read_levels",
    "read_plan",
    "read_planned_song",
    "read_score",
    "read_sheet",
    "read_sketch",
    "read_song",
    "read_songs",
    "rewrite_plan",
    "write_plan",
    "write_sheet",
]
