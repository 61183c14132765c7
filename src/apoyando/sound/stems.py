"""Stems: the cues of one or several voices as one channel of samples, before the room.

Each string is stopped when its cue says so: from then it dies within ``STOP_S``, without a click,
and is silent. Nothing else ends a note, so that what a hand cannot hold is heard to end.
"""

from collections.abc import Iterable, Iterator, Sequence
from functools import cache
from math import ceil, pi

import numpy as np

from apoyando.sound.cues import Cue
from apoyando.sound.pluck import LONGEST_S, render_note
from apoyando.sound.samples import SAMPLE_RATE_HZ, Sample, Sound

STOP_S = 0.015
"""A finger tip on the string: short, and longer than a period of all but the lowest notes (an estimate)."""
BLOCK = 1 << 15
"""Samples in a block of a stem."""


def render_stem(cues: Sequence[Cue], duration_s: float) -> Iterator[Sound]:
    """The cues, in order of their onsets, in blocks of one row, to the end of the last note and the duration."""
    lengths = _needed_seconds(cues)
    end_s = max([duration_s, *(cue.stop_s + STOP_S for cue in cues)])
    sounds = ((to_frames(cue.onset_s), _sound_of(cue, lengths[cue.sample])) for cue in cues)
    return lay_out(sounds, ceil(end_s * SAMPLE_RATE_HZ))


def lay_out(sounds: Iterable[tuple[int, Sound]], frames: int) -> Iterator[Sound]:
    """Sounds of one channel, each from its frame on and in that order, added up in blocks of one row.

    They are taken one by one, as late as can be, and let go when they are over.
    """
    coming = iter(sounds)
    waiting = next(coming, None)
    sounding: list[tuple[int, Sound]] = []
    for start in range(0, frames, BLOCK):
        while waiting is not None and waiting[0] < start + BLOCK:
            sounding.append(waiting)
            waiting = next(coming, None)
        block = np.zeros((1, min(BLOCK, frames - start)), dtype=np.float32)
        for onset, sound in sounding:
            _add(block[0], onset - start, sound)
        yield block
        sounding = [(onset, sound) for onset, sound in sounding if onset + len(sound) > start + BLOCK]


def to_frames(seconds: float) -> int:
    return round(seconds * SAMPLE_RATE_HZ)


def _needed_seconds(cues: Sequence[Cue]) -> dict[Sample, float]:
    """For each sample how long it sounds at most, so that it is rendered once."""
    needed: dict[Sample, float] = {}
    for cue in cues:
        needed[cue.sample] = max(needed.get(cue.sample, 0.0), min(cue.duration_s + STOP_S, LONGEST_S))
    return needed


def _sound_of(cue: Cue, seconds: float) -> Sound:
    """The note with its gain, and its end."""
    stop = to_frames(cue.duration_s)
    ramp = _stop_ramp()
    sound = np.float32(cue.gain) * render_note(cue.sample, seconds)[: stop + len(ramp)]
    ending = len(sound) - stop
    if ending > 0:
        sound[stop:] *= ramp[:ending]
    return sound


@cache
def _stop_ramp() -> Sound:
    """From 1 to 0 as half a cosine."""
    steps = np.linspace(0.0, pi, round(STOP_S * SAMPLE_RATE_HZ))
    return (0.5 + 0.5 * np.cos(steps)).astype(np.float32)


def _add(block: Sound, onset: int, sound: Sound) -> None:
    """Add to a block what falls into it; ``onset`` is counted from the block's start."""
    first, last = max(onset, 0), min(onset + len(sound), len(block))
    if first < last:
        block[first:last] += sound[first - onset : last - onset]
