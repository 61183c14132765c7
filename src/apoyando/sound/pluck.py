"""A plucked note as samples: a string let go, heard through the body.

The string is a linear waveguide: what runs along it, returns with a small loss, and is a little
late or early by its stiffness. Such a loop is the sum of the modes at which its phase closes, each a sinusoid that
dies away (Smith, Physical Audio Signal Processing, 2010, "modal representation"). The extended
Karplus-Strong loop (Karplus & Strong 1983, Jaffe & Smith 1983, Computer Music Journal 7(2);
Karjalainen, Välimäki & Tolonen 1998, ibid. 22(3)) computes that sum sample by sample; here it is
computed mode by mode, which Woodhouse (2004) found best for guitar plucks: every pitch, decay and stretched partial is
exact, and all samples come from one product of two matrices.

Body and string are one system: the body's resonances are further modes of the same sum, excited
by the string's release, and are heard as the soft knock of the attack.

Conventions: t in seconds from the release; modes are complex: ``pole`` in 1/s, ``weight`` their height.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from math import ceil, cos, pi, radians, sin

import numpy as np

from apoyando.sound.body import Complexes, body_modes
from apoyando.sound.loudness import weigh
from apoyando.sound.samples import SAMPLE_RATE_HZ, Floats, Sample, Sound, Stroke
from apoyando.sound.strings import ACROSS, ALONG, find_partials, partial_numbers, sounding_length_m

LONGEST_S = 8.0
SHORTEST_S = 0.5
"""No note is rendered longer than this; by then it is 60 dB down, except the lowest strings."""
FADE_OUT_S = 0.05
"""At a sample's very end, so that the longest ones end without a step."""
RENDERED_NOTES_KEPT = 96
"""Of at most 8 s, 1.5 MB each; the notes of a piece are mostly far shorter."""
SAMPLE_GAIN = np.float32(0.1)
"""Of single notes in files: their attacks reach about 4.5 times their mean, so that two together still fit."""
_STEP = 512
"""Samples in a row of the product: near the square root of their number, where it costs least."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Touch:
    """The finger on the string.

    ``bridge_mm``: from the bridge. ``angle_deg``: of the release, 0 straight into the soundboard,
    90 along it. ``width_mm``: of string that flesh and nail bend round; ``release_s``: how long they
    take to let go. Both soften: a corner that is round has no high partials.
    """

    bridge_mm: float
    angle_deg: float
    width_mm: float
    release_s: float


TOUCHES = {
    Stroke.REST: Touch(bridge_mm=122.0, angle_deg=20.0, width_mm=5.5, release_s=40e-6),
    Stroke.FREE: Touch(bridge_mm=98.0, angle_deg=58.0, width_mm=3.0, release_s=28e-6),
    Stroke.THUMB: Touch(bridge_mm=141.0, angle_deg=45.0, width_mm=8.0, release_s=65e-6),
}
"""A rest stroke pushes the string towards the soundboard and sounds fuller; a free stroke sweeps along it
(Taylor, Tone Production on the Classical Guitar, 1978, from memory; the numbers are estimates)."""

ALONG_RADIATION = 0.3
"""How much of what the string does along the soundboard is heard (an estimate, no source)."""


@dataclass(frozen=True, slots=True)
class _Modes:
    poles: Complexes
    weights: Complexes


def render_note(sample: Sample, seconds: float) -> Sound:
    """The note from its release for so many seconds (at most ``LONGEST_S``), as if it were let ring.

    All notes are equally loud: 1 in the mean, by the weighting of BS.1770, over the first
    0.4 s, as a player evens out his instrument. The array is shared: it cannot be written to.
    """
    kept = SHORTEST_S
    while kept < min(seconds, LONGEST_S):
        kept *= 2.0
    return _render(sample, kept)[: ceil(seconds * SAMPLE_RATE_HZ)]


def render_sample(sample: Sample, seconds: float = LONGEST_S) -> Sound:
    """The note for a player that mixes by itself: one row, two at once under full scale; it dies away at its end."""
    sound = render_note(sample, seconds) * SAMPLE_GAIN
    _fade_out(sound)
    return sound[None, :]


@lru_cache(maxsize=RENDERED_NOTES_KEPT)
def _render(sample: Sample, seconds: float) -> Sound:
    sound = _sum_modes(_all_modes(sample), round(seconds * SAMPLE_RATE_HZ))
    rendered = (sound / _loudness_of_attack(sound)).astype(np.float32)
    if seconds >= LONGEST_S:
        _fade_out(rendered)
    rendered.flags.writeable = False
    return rendered


def _fade_out(sound: Sound) -> None:
    fade = round(FADE_OUT_S * SAMPLE_RATE_HZ)
    sound[-fade:] *= (0.5 + 0.5 * np.cos(np.linspace(0.0, pi, fade))).astype(np.float32)


def _loudness_of_attack(sound: Floats) -> float:
    attack = weigh(sound[: round(0.4 * SAMPLE_RATE_HZ)])
    return float(np.sqrt(np.mean(np.square(attack))))


def _all_modes(sample: Sample) -> _Modes:
    modes = list(_string_and_body(sample))
    return _Modes(
        np.concatenate([each.poles for each in modes]), np.concatenate([each.weights for each in modes])
    )


def _string_and_body(sample: Sample) -> Iterator[_Modes]:
    angle = radians(TOUCHES[sample.stroke].angle_deg)
    for polarisation, share in ((ACROSS, cos(angle)), (ALONG, ALONG_RADIATION * sin(angle))):
        partials = find_partials(sample, polarisation)
        poles = -partials.decays_per_s + 2j * pi * partials.frequencies_hz
        force = share * _force_at_bridge(sample, partials.frequencies_hz)
        body = body_modes()
        yield _Modes(poles, force * body.response(poles))
        yield _Modes(body.poles, 2.0 * body.residues * _spectrum(poles, force, body.poles))


def _force_at_bridge(sample: Sample, frequencies_hz: Floats) -> Floats:
    """The partials of a string let go from a rounded corner: sin(pi k d/L) / k (Fletcher & Rossing, ch. 2)."""
    touch, length_mm = TOUCHES[sample.stroke], 1000.0 * sounding_length_m(sample)
    number = partial_numbers(sample)
    width = np.exp(-0.5 * (number * pi * touch.width_mm / length_mm) ** 2)
    release = np.exp(-0.5 * (2.0 * pi * frequencies_hz * touch.release_s) ** 2)
    return np.asarray(np.sin(number * pi * touch.bridge_mm / length_mm) / number * width * release)


def _spectrum(poles: Complexes, force: Floats, at: Complexes) -> Complexes:
    """The Laplace transform of the force's change since the release.

    Before it the force was the same, and still: what reaches the body begins at 0, without a step.
    """
    s = at[:, None]
    waves = 0.5 * force * (1.0 / (s - poles) + 1.0 / (s - poles.conj()))
    return np.asarray(waves.sum(axis=1) - force.sum() / at)


def _sum_modes(modes: _Modes, count: int) -> Floats:
    """The real part of sum w exp(p t) at ``count`` samples.

    With n = a STEP + b, exp(p n) = exp(p a STEP) exp(p b): two tables, and their product.
    """
    rows = -(-count // _STEP)
    per_sample = modes.poles / SAMPLE_RATE_HZ
    far: Complexes = np.exp(np.outer(np.arange(rows) * float(_STEP), per_sample)) * modes.weights
    near: Complexes = np.exp(np.outer(per_sample, np.arange(float(_STEP))))
    return np.asarray(np.real(far) @ np.real(near) - np.imag(far) @ np.imag(near)).reshape(-1)[:count]
