"""The six strings: what they are made of, and at which frequencies and how fast their partials die.

Conventions: SI units; levels of loss as amplitude decay in 1/s (60 dB are lost in ln(1000)/decay
seconds). A string is stiff, so that partial k lies at k f sqrt(1 + B k²), a little above k times
the first (Fletcher 1964); the first is the pitch to which the player tunes.

Sources: J. Woodhouse, "On the synthesis of guitar plucks", Acta Acustica united with Acustica 90
(2004) 928-944, and "Plucked guitar transients: comparison of measurements and synthesis", ibid.
945-965: the table of measured strings and equation 8 of the second for their loss (from memory;
tension, mass and length give the open pitches, which a test holds against them).
"""

from dataclasses import dataclass
from math import pi

import numpy as np

from apoyando.model.instrument import SCALE_LENGTH_MM, StringNumber
from apoyando.sound.body import conductance
from apoyando.sound.samples import Floats, Sample

SCALE_LENGTH_M = SCALE_LENGTH_MM / 1000


@dataclass(frozen=True, slots=True, kw_only=True)
class Material:
    """One string as measured: what the loss comes from is the air, the winding or core, and bending."""

    tension_n: float
    mass_kg_per_m: float
    stiffness_nm2: float
    loss_friction: float
    loss_air_per_s: float
    loss_bending: float


def _material(
    tension_n: float, grams_per_m: float, micro_nm2: float, friction: float, air: float, bending: float
) -> Material:
    return Material(
        tension_n=tension_n,
        mass_kg_per_m=grams_per_m * 1e-3,
        stiffness_nm2=micro_nm2 * 1e-6,
        loss_friction=friction * 1e-5,
        loss_air_per_s=air,
        loss_bending=bending * 1e-2,
    )


MATERIALS: dict[StringNumber, Material] = {
    StringNumber(1): _material(70.3, 0.38, 130, 40, 1.5, 2.4),
    StringNumber(2): _material(53.4, 0.52, 160, 40, 1.2, 2.0),
    StringNumber(3): _material(58.3, 0.90, 310, 14, 1.7, 2.0),
    StringNumber(4): _material(71.2, 1.95, 51, 5, 1.2, 2.0),
    StringNumber(5): _material(73.9, 3.61, 40, 7, 0.9, 2.5),
    StringNumber(6): _material(71.6, 6.24, 57, 2, 1.2, 2.0),
}
"""Three of plain nylon, three wound: heavier and more supple. Woodhouse 2004, table I (from memory)."""

ACROSS, ALONG = "across", "along"
"""The two polarisations: across the soundboard moves it, along it hardly does."""
ALONG_BRIDGE_SHARE = 0.25
"""How much of the bridge's give is felt along the soundboard (an estimate, no source)."""
ALONG_DETUNE_CENTS = 0.4
"""The bridge yields differently both ways, so that the two beat slowly (an estimate; the effect: Woodhouse 2004)."""
FINGER_LOSS = 0.8e-3
"""Of a wave's height, lost at each return from a finger instead of the nut (an estimate, no source)."""

HIGHEST_PARTIAL_HZ = 9000.0
"""Partials above are far under the others after a pluck by finger (Jansson: above 5 kHz in the attack only)."""


@dataclass(frozen=True, slots=True)
class Partials:
    """The partials of one polarisation, lowest first: where they lie, and how fast they die."""

    frequencies_hz: Floats
    decays_per_s: Floats


def sounding_length_m(sample: Sample) -> float:
    return float(SCALE_LENGTH_M * 2.0 ** (-sample.fret / 12.0))


def tension_n(sample: Sample) -> float:
    """What tunes the open string to its note: for drop D the sixth is slacker."""
    material = MATERIALS[sample.string]
    return float(material.mass_kg_per_m * (2.0 * SCALE_LENGTH_M * sample.open_hz) ** 2)


def inharmonicity(sample: Sample) -> float:
    """B of k f sqrt(1 + B k²): pi² S / (T L²), larger on a shorter string (Fletcher 1964)."""
    stiffness = MATERIALS[sample.string].stiffness_nm2
    return float(pi**2 * stiffness / (tension_n(sample) * sounding_length_m(sample) ** 2))


def partial_numbers(sample: Sample) -> Floats:
    """Which partials sound, up to ``HIGHEST_PARTIAL_HZ``: of a touched string those that have a node there.

    The finger takes all others away in its short touch (Fletcher & Rossing, The Physics of Musical
    Instruments, 1998, section 2.7, from memory), and leaves the string before what is left has lost much.
    """
    every = np.arange(1.0, HIGHEST_PARTIAL_HZ / sample.string_hz + 1.0)
    return np.asarray(every[every % sample.parts == 0.0])


def find_partials(sample: Sample, polarisation: str) -> Partials:
    """All partials up to ``HIGHEST_PARTIAL_HZ``."""
    bend = inharmonicity(sample)
    number = partial_numbers(sample)
    detune = 2.0 ** (ALONG_DETUNE_CENTS / 1200.0) if polarisation == ALONG else 1.0
    frequencies = number * sample.string_hz * detune * np.sqrt((1.0 + bend * number**2) / (1.0 + bend))
    share = ALONG_BRIDGE_SHARE if polarisation == ALONG else 1.0
    decays = _string_decay(sample, frequencies, number) + _end_decay(sample, frequencies, share)
    return Partials(frequencies, decays)


def _string_decay(sample: Sample, frequencies_hz: Floats, number: Floats) -> Floats:
    """Loss in the string and its air: half the angular frequency times equation 8."""
    material, tension = MATERIALS[sample.string], tension_n(sample)
    angular = 2.0 * pi * frequencies_hz
    bending = material.stiffness_nm2 * (number * pi / sounding_length_m(sample)) ** 2
    stretched = tension * (material.loss_friction + material.loss_air_per_s / angular)
    return angular / 2.0 * (stretched + bending * material.loss_bending) / (tension + bending)


def _end_decay(sample: Sample, frequencies_hz: Floats, bridge_share: float) -> Floats:
    """Loss at the ends, at every return: 2 Z G at the bridge (Z of the string, G of the body), and the finger."""
    impedance = (tension_n(sample) * MATERIALS[sample.string].mass_kg_per_m) ** 0.5
    finger = 0.0 if sample.is_open else FINGER_LOSS
    return np.asarray(
        sample.string_hz * (2.0 * impedance * bridge_share * conductance(frequencies_hz) + finger)
    )
