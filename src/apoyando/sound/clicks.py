"""The click of a count-in or a metronome: two pieces of wood, the first beat of a bar a little higher and louder."""

from collections.abc import Iterable, Iterator, Sequence
from functools import cache
from math import pi

import numpy as np

from apoyando.sound.convolution import in_hops
from apoyando.sound.cues import BeatCue
from apoyando.sound.samples import SAMPLE_RATE_HZ, Sound
from apoyando.sound.stems import BLOCK, lay_out, to_frames

_FIRST = (1650.0, 0.16)
_OTHER = (1180.0, 0.11)
"""Hz and peak: heard through the music at its target loudness, and below its own attacks (an estimate)."""
_DECAY_S = 0.018
_LENGTH_S = 0.12
_ATTACK_S = 0.001


def add_clicks(blocks: Iterable[Sound], beats: Sequence[BeatCue]) -> Iterator[Sound]:
    """A sound with clicks in all its channels. What of a click comes after its end is not heard."""
    last = to_frames(beats[-1].onset_s + _LENGTH_S) if beats else 0
    clicks = lay_out(((to_frames(beat.onset_s), _click(beat.is_first)) for beat in beats), last)
    for block in in_hops(blocks, BLOCK):
        click = next(clicks, None)
        yield block if click is None else block + _fit(click, block.shape[1])


def _fit(click: Sound, frames: int) -> Sound:
    return np.pad(click[:, :frames], ((0, 0), (0, max(frames - click.shape[1], 0))))


@cache
def _click(is_first: bool) -> Sound:
    """A tone that dies at once; it begins and ends at 0."""
    hz, peak = _FIRST if is_first else _OTHER
    seconds = np.arange(round(_LENGTH_S * SAMPLE_RATE_HZ)) / SAMPLE_RATE_HZ
    envelope = np.exp(-seconds / _DECAY_S) * np.minimum(seconds / _ATTACK_S, 1.0)
    return (peak * envelope * np.sin(2.0 * pi * hz * seconds)).astype(np.float32)
