"""The reading room: bytes in, ``Song`` or ``Score`` out, errors that point at the place.

Doors: ``read_song`` and ``read_songs`` for lead sheets in MusicXML, MXL and ABC 2.1;
``read_planned_song`` for one as its plan puts it right; ``read_sketch`` for a tune that is still being typed; ``read_score`` for guitar music in MusicXML, MXL and Standard MIDI Files; ``read_plan``,
``list_entries``, ``change_plan``, ``write_plan``, ``rewrite_plan`` and ``move_pickup``; ``read_levels``, ``load_default_levels`` and ``load_default_table``;
``read_chord_symbol``.
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
