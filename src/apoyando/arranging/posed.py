"""A song laid out for the search."""

from dataclasses import dataclass

from apoyando.arranging.melody import TransposedMelody
from apoyando.arranging.plot import Plot
from apoyando.arranging.setting import Setting
from apoyando.arranging.slices import PlottedSlice
from apoyando.fingering import Problem
from apoyando.model.locks import Lock
from apoyando.model.pitch import Interval
from apoyando.model.song import Song


@dataclass(frozen=True, slots=True)
class PosedSong:
    """A song moved to its key and laid out, with the question that the search is asked.

    ``song`` has its chords and signatures in the new key, and its melody, simplified where that
    was asked for, in the old one.
    ``texture`` is that of the piece, ``textures`` has each bar's.
    ``locks`` are those that are on it.
    """

    song: Song
    setting: Setting
    interval: Interval
    melody: TransposedMelody
    texture: str
    textures: tuple[str, ...]
    plot: Plot
    slices: tuple[PlottedSlice, ...]
    problem: Problem
    locks: tuple[Lock, ...] = ()
