"""Loudness by ITU-R BS.1770, held against pyloudnorm; long convolution and limiting."""

import numpy as np
import pytest
from pyloudnorm import Meter

from apoyando.sound.convolution import convolve, in_hops
from apoyando.sound.limiter import limit_peaks
from apoyando.sound.loudness import SILENCE, measure_loudness

RATE = 48_000


def tone(hz: float, level: float, seconds: float, channels: int = 1) -> np.ndarray:
    wave = level * np.sin(2 * np.pi * hz * np.arange(int(seconds * RATE)) / RATE)
    return np.tile(wave.astype(np.float32), (channels, 1))


def noise(seconds: float, channels: int, seed: int = 1) -> np.ndarray:
    return np.random.default_rng(seed).uniform(-0.3, 0.3, (channels, int(seconds * RATE))).astype(np.float32)


# Loudness.


def test_a_full_scale_sine_of_997_hz_has_minus_3_01_lufs() -> None:
    """BS.1770-4, annex 1."""
    assert measure_loudness([tone(997, 1.0, 5)]) == pytest.approx(-3.01, abs=0.01)


def test_two_channels_are_3_lu_louder_than_one() -> None:
    """BS.1770-4: energies add."""
    one, two = (measure_loudness([tone(997, 0.1, 3, channels)]) for channels in (1, 2))
    assert two - one == pytest.approx(3.01, abs=0.01)


@pytest.mark.parametrize("channels", [1, 2])
@pytest.mark.parametrize("seconds", [0.4, 1.23, 7.0])
def test_another_meter_says_the_same_of_noise_that_swells_and_stops(channels: int, seconds: float) -> None:
    sound = noise(seconds, channels) * np.linspace(0.05, 1.0, int(seconds * RATE)).astype(np.float32)
    theirs = Meter(RATE).integrated_loudness(sound.T)
    assert measure_loudness([sound]) == pytest.approx(theirs, abs=0.1)


def test_silence_between_does_not_count() -> None:
    """The gates of BS.1770-4: without them ten seconds of rest would take 4 LU."""
    sounding, rest = tone(440, 0.2, 3), np.zeros((1, 10 * RATE), dtype=np.float32)
    without, within = measure_loudness([sounding]), measure_loudness([sounding, rest, sounding])
    assert within == pytest.approx(without, abs=0.5)


def test_blocks_of_any_size_give_the_same_loudness() -> None:
    sound = noise(2.0, 2)
    whole = measure_loudness([sound])
    assert measure_loudness(in_hops([sound], 777)) == pytest.approx(whole, abs=1e-6)


def test_nothing_has_no_loudness() -> None:
    assert measure_loudness([]) == SILENCE
    assert measure_loudness([np.zeros((1, RATE), dtype=np.float32)]) == SILENCE


# Convolution.


@pytest.mark.parametrize("length", [1, 99, 16_384, 70_001])
def test_convolution_in_blocks_equals_that_of_the_definition(length: int) -> None:
    sound = noise(length / RATE, 1)[:, :length]
    kernels = np.random.default_rng(2).uniform(-1, 1, (2, 300))
    expected = [np.convolve(sound[0].astype(float), kernel) for kernel in kernels]
    heard = np.concatenate(list(convolve(in_hops([sound], 1000), kernels, rest=299)), axis=1)
    np.testing.assert_allclose(heard, expected, atol=2e-5)


# Limiting.


def limited(sound: np.ndarray, ceiling: float = 0.8) -> np.ndarray:
    return np.concatenate(list(limit_peaks(in_hops([sound], 5000), ceiling)), axis=1)


def test_a_sound_under_the_ceiling_is_left_as_it_is() -> None:
    sound = tone(220, 0.79, 2, 2)
    np.testing.assert_array_equal(limited(sound), sound)


@pytest.mark.parametrize("seed", range(5))
def test_nothing_goes_over_the_ceiling(seed: int) -> None:
    sound = noise(3.0, 2, seed)
    generator = np.random.default_rng(seed)
    sound[:, generator.integers(0, sound.shape[1], 20)] *= 9
    sound[0, :300] *= 5
    assert np.abs(limited(sound)).max() <= 0.8 * (1 + 1e-6)


def test_what_is_turned_down_is_turned_down_smoothly_and_comes_back() -> None:
    """A gain that jumps is heard as a click: here it moves less than a hundredth of full in a ms."""
    sound = tone(1000, 0.5, 3)
    sound[:, RATE : RATE + 4800] *= 4
    gains = limited(sound)[0, 12::48] / sound[0, 12::48]
    assert gains.min() < 0.41
    assert np.abs(np.diff(gains)).max() < 0.25
    assert gains[0] == gains[-1] == 1.0


def test_both_channels_are_turned_down_alike() -> None:
    sound = tone(300, 0.5, 1, 2)
    sound[0, 20_000:22_000] *= 3
    heard = limited(sound)
    np.testing.assert_allclose(heard[1, 20_100:21_900], heard[0, 20_100:21_900] / 3, rtol=1e-5)
