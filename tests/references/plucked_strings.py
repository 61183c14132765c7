"""What others measured on nylon strings, and a way to measure ours that shares no code with the model.

Strings and the law of their loss: J. Woodhouse, "On the synthesis of guitar plucks" and "Plucked guitar
transients", Acta Acustica united with Acustica 90 (2004), 928-944 and 945-965, table and equation 8, typed
afresh from memory and held against the open pitches here.
"""

from dataclasses import dataclass
from math import log, pi, sqrt
from typing import Any

import numpy as np

LENGTH_M = 0.65
OPEN_NOTES = {1: 64, 2: 59, 3: 55, 4: 50, 5: 45, 6: 40}


@dataclass(frozen=True)
class MeasuredString:
    """Tension N, mass kg/m, bending stiffness N m², and what the loss factor is made of."""

    tension: float
    mass: float
    bending: float
    friction: float
    air: float
    bending_loss: float

    @property
    def open_hz(self) -> float:
        return sqrt(self.tension / self.mass) / (2 * LENGTH_M)

    def loss_factor(self, hz: float, partial: int, length_m: float) -> float:
        """Equation 8: the inverse of the quality of one mode of the string alone."""
        stiff = self.bending * (partial * pi / length_m) ** 2
        flexible = self.tension * (self.friction + self.air / (2 * pi * hz))
        return (flexible + stiff * self.bending_loss) / (self.tension + stiff)

    def decay_time(self, hz: float, length_m: float) -> float:
        """Seconds in which the first partial of the string alone loses 60 dB."""
        return log(1000) / (pi * hz * self.loss_factor(hz, 1, length_m))


MEASURED = {
    1: MeasuredString(70.3, 0.38e-3, 130e-6, 40e-5, 1.5, 2.4e-2),
    2: MeasuredString(53.4, 0.52e-3, 160e-6, 40e-5, 1.2, 2.0e-2),
    3: MeasuredString(58.3, 0.90e-3, 310e-6, 14e-5, 1.7, 2.0e-2),
    4: MeasuredString(71.2, 1.95e-3, 51e-6, 5e-5, 1.2, 2.0e-2),
    5: MeasuredString(73.9, 3.61e-3, 40e-6, 7e-5, 0.9, 2.5e-2),
    6: MeasuredString(71.6, 6.24e-3, 57e-6, 2e-5, 1.2, 2.0e-2),
}

INHARMONICITY = (5e-6, 2e-3)
"""Of guitar strings over the fingerboard: about 1e-5 for wound basses, some 1e-4 for plain nylon, and four
times as much an octave higher (Fletcher & Rossing, The Physics of Musical Instruments, 1998, ch. 2 and 9;
from memory)."""


def equal_temperament_hz(note: int) -> float:
    """ISO 16: a' is 440 Hz."""
    return float(440 * 2 ** ((note - 69) / 12))


def find_peak_hz(sound: Any, near_hz: float, rate_hz: int = 48_000, within: float = 0.03) -> float:
    """The frequency of the strongest partial near one: a parabola through three log bins of a
    Hann window (Smith, Spectral Audio Signal Processing, "quadratic interpolation of peaks").
    """
    size = 1 << 19
    spectrum = np.abs(np.fft.rfft(sound * np.hanning(len(sound)), size))
    low, high = (int(near_hz * (1 + side) * size / rate_hz) for side in (-within, within))
    top = low + int(np.argmax(spectrum[low : high + 1]))
    left, middle, right = np.log(spectrum[top - 1 : top + 2])
    return float((top + 0.5 * (left - right) / (left - 2 * middle + right)) * rate_hz / size)


def measure_decay_time(sound: Any, hz: float, start_s: float, stop_s: float, rate_hz: int = 48_000) -> float:
    """Seconds for 60 dB: a line through the level of one partial, heard in windows of ten periods and more."""
    width = max(int(10 * rate_hz / hz), rate_hz // 10)
    window = np.hanning(width) * np.exp(-2j * pi * hz * np.arange(width) / rate_hz)
    starts = np.arange(int(start_s * rate_hz), int(stop_s * rate_hz) - width, width // 2)
    levels = [20 * np.log10(abs(np.dot(sound[at : at + width], window))) for at in starts]
    slope = np.polyfit(starts / rate_hz, levels, 1)[0]
    return float(-60 / slope)


def centroid_hz(sound: Any, rate_hz: int = 48_000) -> float:
    """The centre of the amplitude spectrum: low is dark, high is bright."""
    spectrum = np.abs(np.fft.rfft(sound * np.hanning(len(sound))))
    hz = np.fft.rfftfreq(len(sound), 1 / rate_hz)
    return float((spectrum * hz).sum() / spectrum.sum())
