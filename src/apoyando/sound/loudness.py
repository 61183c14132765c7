"""Loudness by ITU-R BS.1770-4: as loud as it is to the ear, not as large as it is on paper.

Conventions: loudness in LUFS (a full-scale 997 Hz sine in one channel has -3.01); differences in LU,
which are dB. Energy is measured in blocks of 400 ms that overlap by three quarters, and blocks that
are silent, or 10 LU under the rest, do not count.
"""

from collections.abc import Iterable, Iterator
from functools import cache
from math import log10

import numpy as np

from apoyando.sound.convolution import convolve
from apoyando.sound.samples import SAMPLE_RATE_HZ, Floats, Sound

# Annex 1, tables 1 and 2, for 48 kHz: the head as a sphere, then little weight for the deepest bass.
_SHELF = ((1.53512485958697, -2.69169618940638, 1.19839281085285), (-1.69065929318241, 0.73248077421585))
_HIGH_PASS = ((1.0, -2.0, 1.0), (-1.99004745483398, 0.99007225036621))
_OFFSET = -0.691
_ABSOLUTE_GATE = -70.0
_RELATIVE_GATE = -10.0
_STEP = SAMPLE_RATE_HZ // 10
_STEPS_IN_BLOCK = 4
_RESPONSE = 4096
"""Samples after which the weighting's own ringing is under -160 dB."""
SILENCE = float("-inf")


@cache
def weighting() -> Floats:
    """The response of both filters to one sample."""
    impulse = [1.0] + [0.0] * (_RESPONSE - 1)
    return np.array(_filter(_filter(impulse, *_SHELF), *_HIGH_PASS))


def _filter(
    given: list[float], forward: tuple[float, float, float], back: tuple[float, float]
) -> list[float]:
    """y[n] = b0 x[n] + b1 x[n-1] + b2 x[n-2] - a1 y[n-1] - a2 y[n-2]."""
    x1 = x2 = y1 = y2 = 0.0
    out: list[float] = []
    for x in given:
        y = forward[0] * x + forward[1] * x1 + forward[2] * x2 - back[0] * y1 - back[1] * y2
        x1, x2, y1, y2 = x, x1, y, y1
        out.append(y)
    return out


def weigh(sound: Floats) -> Floats:
    """A short sound as the ear weighs it, as long as it was."""
    size = len(sound) + _RESPONSE
    return np.fft.irfft(np.fft.rfft(sound, size) * np.fft.rfft(weighting(), size), size)[: len(sound)]


def measure_loudness(blocks: Iterable[Sound], room: Floats | None = None) -> float:
    """The integrated loudness of a sound that comes in blocks, one row a channel; ``SILENCE`` for none.

    ``room`` is a response for each channel, through which a sound of one channel is heard. A
    sound shorter than 400 ms is measured as if it went on in silence.
    """
    kernels = weighting()[None, :] if room is None else np.array([_weigh_long(ear) for ear in room])
    rest = 0 if room is None else room.shape[1] - 1
    return _gate(np.fromiter(_energies(convolve(blocks, kernels, rest)), dtype=np.float64))


def _weigh_long(response: Floats) -> Floats:
    return weigh(np.pad(response, (0, _RESPONSE)))


def _energies(blocks: Iterable[Sound]) -> Iterator[float]:
    """The energy of each 100 ms, all channels together; what is left at the end comes last."""
    rest = np.zeros(0)
    for block in blocks:
        rest = np.concatenate([rest, np.square(block, dtype=np.float64).sum(axis=0)])
        whole = len(rest) // _STEP * _STEP
        yield from rest[:whole].reshape(-1, _STEP).sum(axis=1)
        rest = rest[whole:]
    yield float(rest.sum())


def _gate(steps: Floats) -> float:
    """A last block that is not whole does not count, unless it is the only one (BS.1770-4, annex 1)."""
    whole = steps[:-1] if len(steps) > _STEPS_IN_BLOCK else np.pad(steps, (0, _STEPS_IN_BLOCK - len(steps)))
    blocks = np.convolve(whole, np.ones(_STEPS_IN_BLOCK), "valid") / (_STEP * _STEPS_IN_BLOCK)
    loud = blocks[blocks > _energy(_ABSOLUTE_GATE)]
    if not len(loud):
        return SILENCE
    loud = loud[loud > _energy(_loudness(float(loud.mean())) + _RELATIVE_GATE)]
    return _loudness(float(loud.mean()))


def _loudness(energy: float) -> float:
    return _OFFSET + 10.0 * log10(energy)


def _energy(loudness: float) -> float:
    return float(10.0 ** ((loudness - _OFFSET) / 10.0))
