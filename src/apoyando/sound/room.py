"""A gentle room: a few early reflections and a short, soft tail, a little different at each ear.

Conventions: a response has one row an ear; the first sample is the direct sound, at 1.
"""

from functools import cache

import numpy as np

from apoyando.sound.samples import SAMPLE_RATE_HZ, Floats

DECAY_S = 0.55
"""60 dB: a furnished music room (about what Beranek, Concert Halls and Opera Houses, 2004, gives for
the smallest halls' lower bound; from memory)."""
TAIL_DB = -15.0
"""Energy of the tail under the direct sound (an estimate)."""
_TAIL_STARTS_S = 0.018
_LENGTH = 1 << 14
_EARLY = (
    # ms, level of the left ear, of the right
    (7.1, 0.16, 0.11),
    (11.3, 0.09, 0.15),
    (15.9, 0.11, 0.07),
    (21.7, 0.06, 0.10),
)
"""Walls and ceiling some metres away (an estimate)."""
_TAIL_HIGHEST_HZ = 5000.0
_SEEDS = (20, 4)


@cache
def room() -> Floats:
    """The response at both ears, with the direct sound. Always the same."""
    response = np.array([_tail(seed) for seed in _SEEDS])
    response[:, 0] += 1.0
    for delay_ms, *levels in _EARLY:
        response[:, round(delay_ms * 1e-3 * SAMPLE_RATE_HZ)] += levels
    return response


def _tail(seed: int) -> Floats:
    """Noise that dies away, softened at the top as walls and air do."""
    # The raw numbers of the generator are the same in every version of numpy; its distributions need not be.
    noise = np.random.PCG64(seed).random_raw(_LENGTH) / 2.0**63 - 1.0
    spectrum = np.fft.rfft(noise)
    hz = np.fft.rfftfreq(_LENGTH, 1.0 / SAMPLE_RATE_HZ)
    soft = np.fft.irfft(spectrum / (1.0 + (hz / _TAIL_HIGHEST_HZ) ** 2))
    seconds = np.arange(_LENGTH) / SAMPLE_RATE_HZ
    fading = np.linspace(1.0, 0.0, _LENGTH) * (seconds >= _TAIL_STARTS_S)
    tail = soft * fading * 10.0 ** (-3.0 * seconds / DECAY_S)
    return np.asarray(tail * 10.0 ** (TAIL_DB / 20.0) / np.sqrt(np.sum(tail**2)))
