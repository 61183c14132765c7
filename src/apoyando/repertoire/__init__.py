"""The repertoire: the player's songs on a shelf, which is a folder of plain files.

    SHELF/
      index.sqlite                 what the shelf shows of each song; made anew from the files at any time
      first-light/
        first-light.abc            the song as it was brought in
        plan.toml                  the decisions; this file is the truth
        notes.txt  state.txt       the player's notes; draft, proofed or ready
        history/000007.plan.toml   the plan after each step, ``now.txt`` the step that is in force
      taken off/                   the folders of songs that were taken off the shelf, whole

Doors: ``Shelf`` for everything; ``SongEntry`` and ``OpenSong`` are what it gives.
"""

from apoyando.repertoire.entries import STATES, SongEntry, State
from apoyando.repertoire.folders import TAKEN_OFF
from apoyando.repertoire.history import Steps
from apoyando.repertoire.shelf import OpenSong, Shelf, UnknownSongError
from apoyando.repertoire.sorting import SORTINGS

__all__ = [
    "SORTINGS",
    "STATES",
    "TAKEN_OFF",
    "OpenSong",
    "Shelf",
    "SongEntry",
    "State",
    "Steps",
    "UnknownSongError",
]
