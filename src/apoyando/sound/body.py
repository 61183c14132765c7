"""The body of the guitar: how it answers the string at the bridge, and what it sends into the room.

The body is a sum of resonances. The lowest are the air in the body and the first modes of top and
back, about where they are on classical guitars (Christensen & Vistisen, JASA 68 (1980) 758-766;
Fletcher & Rossing, The Physics of Musical Instruments, 2nd ed. 1998, ch. 9); above them modes lie so
close that only their spacing counts (Woodhouse 2004). Frequencies, widths and weights stand for no
single instrument (from memory).
"""

from dataclasses import dataclass
from functools import cache
from math import pi

import numpy as np
from numpy.typing import NDArray

from apoyando.sound.samples import Floats

Complexes = NDArray[np.complex128]

_LOW_MODES = (
    # Hz, quality factor, weight
    (98.0, 18.0, 0.8),
    (192.0, 22.0, 1.2),
    (236.0, 26.0, 0.6),
    (292.0, 26.0, 0.5),
    (378.0, 28.0, 0.6),
    (442.0, 28.0, 0.5),
    (533.0, 30.0, 0.6),
)
_BROAD_MODES = ((220.0, 0.7, 0.5), (900.0, 0.6, 0.9), (2600.0, 0.8, 0.5), (4800.0, 0.9, 0.25))
"""What many overlapping modes do together: the floor that lies under the peaks."""
_FIRST_CLOSE_MODE_HZ = 610.0
_LAST_CLOSE_MODE_HZ = 3600.0
_CLOSE_SPACING_HZ = 92.0
"""A flat plate has as many modes in each hertz at all heights."""
_CLOSE_QUALITY = 32.0
_CLOSE_WEIGHT = 0.45
_GOLDEN_RATIO = 0.6180339887498949
"""Its multiples spread evenly and never repeat: modes that lie irregularly, and the same each time."""

MEAN_CONDUCTANCE = 0.007
PEAK_CONDUCTANCE = 0.010
"""s/kg at the bridge: between modes and, added, at a low mode. Measured bridges give about 0.01
on average (Woodhouse 2004, from memory); peaks are kept low so that no note of the instrument dies early."""


@dataclass(frozen=True, slots=True)
class Modes:
    """Resonances g s (w/Q) / (s² + s w/Q + w²), by their upper poles and the residues there."""

    poles: Complexes
    residues: Complexes
    angular: Floats
    quality: Floats
    weights: Floats

    def response(self, s: Complexes) -> Complexes:
        """The sum of all at each complex frequency. Law: 0 at s = 0, for a still force makes no sound."""
        band = self.angular / self.quality
        at = s[:, None]
        return np.asarray((self.weights * band * at / (at**2 + band * at + self.angular**2)).sum(axis=1))


@cache
def body_modes() -> Modes:
    table = np.array([*_LOW_MODES, *_close_modes(), *_BROAD_MODES])
    angular, quality, weights = 2.0 * pi * table[:, 0], table[:, 1], table[:, 2]
    half_band = angular / (2.0 * quality)
    poles = -half_band + 1j * np.sqrt(angular**2 - half_band**2)
    residues = weights * 2.0 * half_band * poles / (2j * poles.imag)
    return Modes(poles, residues, angular, quality, weights)


def _close_modes() -> list[tuple[float, float, float]]:
    count = int((_LAST_CLOSE_MODE_HZ - _FIRST_CLOSE_MODE_HZ) / _CLOSE_SPACING_HZ)
    strays = [(index * _GOLDEN_RATIO) % 1.0 - 0.5 for index in range(count)]
    return [
        (
            _FIRST_CLOSE_MODE_HZ + _CLOSE_SPACING_HZ * (index + stray),
            _CLOSE_QUALITY,
            _CLOSE_WEIGHT * (1 if index % 2 else -1),
        )
        for index, stray in enumerate(strays)
    ]


def conductance(frequencies_hz: Floats) -> Floats:
    """How readily the bridge gives way and takes energy from a string, in s/kg."""
    hz, quality, weight = (column[:, None] for column in np.array(_LOW_MODES).T)
    detuning = quality * (frequencies_hz / hz - hz / frequencies_hz)
    peaks = (weight * PEAK_CONDUCTANCE / (1.0 + detuning**2)).sum(axis=0)
    return np.asarray(MEAN_CONDUCTANCE + peaks)
