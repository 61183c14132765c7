"""A plucked string against what is known of nylon strings (references/plucked_strings.py)."""

from itertools import product

import numpy as np
import pytest

from apoyando.model.instrument import StringNumber
from apoyando.model.pitch import MidiNote
from apoyando.sound import SAMPLE_RATE_HZ, Sample, Stroke, pluck, render_note, render_sample
from apoyando.sound.strings import inharmonicity
from references.plucked_strings import (
    INHARMONICITY,
    LENGTH_M,
    MEASURED,
    OPEN_NOTES,
    centroid_hz,
    equal_temperament_hz,
    find_peak_hz,
    measure_decay_time,
)

STRINGS = tuple(OPEN_NOTES)
FRETS = range(20)
STROKES = tuple(Stroke)


def make_sample(string: int, fret: int, stroke: Stroke = Stroke.REST, open_note: int | None = None) -> Sample:
    note = OPEN_NOTES[string] if open_note is None else open_note
    return Sample(StringNumber(string), MidiNote(note), fret, stroke, is_open=fret == 0)


def cents(hz: float, wanted: float) -> float:
    return float(1200 * np.log2(hz / wanted))


# Pitch.


@pytest.mark.parametrize("string", STRINGS)
def test_every_fret_of_every_string_is_in_tune_within_a_cent(string: int) -> None:
    """Equal temperament from a' = 440 Hz (ISO 16)."""
    for fret, stroke in product(FRETS, (Stroke.REST, Stroke.FREE)):
        wanted = equal_temperament_hz(OPEN_NOTES[string] + fret)
        heard = find_peak_hz(render_note(make_sample(string, fret, stroke), 2.0), wanted)
        assert abs(cents(heard, wanted)) < 1.0, (fret, stroke)


def test_a_slackened_sixth_string_is_in_tune_too() -> None:
    wanted = equal_temperament_hz(38)
    assert abs(cents(find_peak_hz(render_note(make_sample(6, 0, open_note=38), 4.0), wanted), wanted)) < 1.0


def test_the_estimator_finds_a_known_sinusoid_within_a_hundredth_of_a_cent() -> None:
    tone = np.sin(2 * np.pi * 329.7 * np.arange(2 * SAMPLE_RATE_HZ) / SAMPLE_RATE_HZ)
    assert abs(cents(find_peak_hz(tone, 329.7), 329.7)) < 0.01


# Stiffness.


@pytest.mark.parametrize("string", STRINGS)
def test_the_measured_strings_give_the_open_pitches(string: int) -> None:
    """Holds the table that was typed from memory: sqrt(T/m) / 2 L within a tenth of a semitone."""
    assert abs(cents(MEASURED[string].open_hz, equal_temperament_hz(OPEN_NOTES[string]))) < 10


@pytest.mark.parametrize(("string", "fret"), [(1, 0), (3, 0), (3, 12), (4, 5), (6, 0)])
def test_upper_partials_lie_above_multiples_of_the_first_as_much_as_stiffness_says(
    string: int, fret: int
) -> None:
    """Fletcher 1964: f_k = k f sqrt(1 + B k²), B = pi² S / (T L²). Partial 6 is heard and measured."""
    first = equal_temperament_hz(OPEN_NOTES[string] + fret)
    measured, length = MEASURED[string], LENGTH_M * 2 ** (-fret / 12)
    expected = np.pi**2 * measured.bending / (measured.tension * length**2)
    sound = render_note(make_sample(string, fret), 1.0)

    stretch = find_peak_hz(sound, 6 * first * (1 + 17.5 * expected), within=0.02) / (6 * first)

    heard = (stretch**2 - 1) / 35
    assert heard == pytest.approx(expected, rel=0.35, abs=8e-6)
    assert stretch > 1.0


def test_inharmonicity_is_of_the_published_size_and_grows_up_the_string() -> None:
    for string in STRINGS:
        bends = [inharmonicity(make_sample(string, fret)) for fret in FRETS]
        assert bends == sorted(bends)
        assert INHARMONICITY[0] < bends[0] < bends[-1] < INHARMONICITY[1]


def test_wound_basses_are_more_supple_than_plain_trebles() -> None:
    basses, trebles = (
        [inharmonicity(make_sample(s, 0)) for s in strings] for strings in ((4, 5, 6), (1, 2, 3))
    )
    assert max(basses) < min(trebles)


# Decay.


@pytest.mark.parametrize(("string", "fret"), list(product(STRINGS, (0, 5, 12))))
def test_a_string_dies_sooner_than_alone_and_not_faster_than_on_a_bridge_that_gives_way(
    string: int, fret: int
) -> None:
    """Alone: Woodhouse 2004. A conductance of 0.04 s/kg is at the peaks of measured classical
    guitars (ibid., from memory); a finger adds its own loss.
    """
    measured, length = MEASURED[string], LENGTH_M * 2 ** (-fret / 12)
    hz = equal_temperament_hz(OPEN_NOTES[string] + fret)
    alone = measured.decay_time(hz, length)
    impedance = (measured.tension * measured.mass) ** 0.5
    shortest = np.log(1000) / (np.log(1000) / alone + 2 * impedance * 0.04 * hz)

    heard = measure_decay_time(render_note(make_sample(string, fret), 1.5), hz, 0.1, 1.5)

    assert shortest < heard < alone


def test_basses_sound_longer_than_trebles_and_low_frets_longer_than_high_ones() -> None:
    def heard(string: int, fret: int) -> float:
        sound = render_note(make_sample(string, fret), 2.0)
        return measure_decay_time(sound, equal_temperament_hz(OPEN_NOTES[string] + fret), 0.1, 1.5)

    assert heard(5, 0) > heard(2, 0) > heard(1, 0) > heard(1, 7)


@pytest.mark.parametrize("string", STRINGS)
def test_upper_partials_die_before_the_lower_ones(string: int) -> None:
    """So that the tone darkens as it dies (Fletcher & Rossing 1998, ch. 9)."""
    sound = render_note(make_sample(string, 0), 2.0)
    assert centroid_hz(sound[SAMPLE_RATE_HZ:]) < 0.8 * centroid_hz(sound[: SAMPLE_RATE_HZ // 2])


# Strokes.


@pytest.mark.parametrize(("string", "fret"), [(1, 0), (1, 7), (2, 3), (3, 2)])
def test_a_rest_stroke_is_fuller_than_a_free_stroke_and_gives_its_sound_sooner(
    string: int, fret: int
) -> None:
    """Straight into the soundboard: darker, and more of it in the first second (Taylor 1978, from memory)."""
    rest, free = (
        np.asarray(render_note(make_sample(string, fret, stroke), 3.0))
        for stroke in (Stroke.REST, Stroke.FREE)
    )
    assert centroid_hz(rest[:9600]) < 0.95 * centroid_hz(free[:9600])
    assert lost_db(rest, 0.1, 2.5) > lost_db(free, 0.1, 2.5) + 1.0


def lost_db(sound: np.ndarray, one_s: float, other_s: float) -> float:
    first, second = (
        float(np.mean(np.square(sound[int(at * SAMPLE_RATE_HZ) :][:4800]))) for at in (one_s, other_s)
    )
    return float(10 * np.log10(first / second))


# Samples.


@pytest.mark.parametrize("stroke", STROKES)
def test_a_note_begins_from_silence_and_jumps_nowhere(stroke: Stroke) -> None:
    """No steeper than a sinusoid of 2 kHz at the peak, 2 pi 2000 / 48000 of it a sample; a click is a jump of it all."""
    for string, fret in product(STRINGS, (0, 7, 19)):
        sound = render_note(make_sample(string, fret, stroke), 0.5)
        assert abs(sound[0]) < 0.001 * np.abs(sound).max()
        assert np.abs(np.diff(sound)).max() < 2 * np.pi * 2000 / SAMPLE_RATE_HZ * np.abs(sound).max()


def test_a_single_sample_dies_away_at_its_end_however_short_it_is() -> None:
    sample = make_sample(5, 0)
    for seconds in (0.4, 0.5, 2.0, 8.0):
        (sound,) = render_sample(sample, seconds)
        assert len(sound) == round(seconds * SAMPLE_RATE_HZ)
        assert abs(sound[-1]) < 1e-6
        assert np.abs(np.diff(sound[-4800:])).max() < 0.02


def test_a_note_is_whole_to_the_last_sample_that_is_asked_for() -> None:
    """A note of four seconds is the beginning of one of eight."""
    four, eight = render_note(make_sample(6, 0), 4.0), render_note(make_sample(6, 0), 8.0)
    np.testing.assert_allclose(four, eight[: len(four)], atol=1e-6)


def test_single_samples_fit_under_full_scale_two_at_a_time() -> None:
    peaks = [
        np.abs(render_sample(make_sample(string, fret, stroke), 0.5)).max()
        for string, fret, stroke in product(STRINGS, (0, 3, 7, 12), STROKES)
    ]
    assert 0.2 < min(peaks) < max(peaks) < 0.5


def test_what_was_rendered_once_is_not_rendered_again_and_cannot_be_spoilt() -> None:
    sample = make_sample(2, 1)
    once, again = render_note(sample, 1.0), render_note(sample, 0.8)

    assert np.shares_memory(once, again)
    with pytest.raises(ValueError, match="read-only"):
        once[0] = 1.0


def test_rendering_anew_gives_the_same_samples() -> None:
    first = render_note(make_sample(3, 4), 1.0).tobytes()
    pluck._render.cache_clear()
    assert render_note(make_sample(3, 4), 1.0).tobytes() == first


def test_what_is_kept_of_rendered_notes_is_bounded() -> None:
    """A hundred notes of eight seconds are 150 MB."""
    most = pluck._render.cache_parameters()["maxsize"]
    assert most is not None
    assert most * pluck.LONGEST_S * SAMPLE_RATE_HZ * 4 < 160 * 2**20


# Harmonics. A string touched at a node of its partial n keeps the partials n, 2n, 3n … and no other
# (Fletcher & Rossing, The Physics of Musical Instruments, 1998, ch. 2).


def touch(string: int, parts: int, stroke: Stroke = Stroke.FREE) -> Sample:
    return Sample(StringNumber(string), MidiNote(OPEN_NOTES[string]), 0, stroke, is_open=True, parts=parts)


@pytest.mark.parametrize(("string", "parts"), list(product(STRINGS, (2, 3, 4))))
def test_a_harmonic_sounds_so_many_times_as_high_as_its_open_string(string: int, parts: int) -> None:
    """A little above it by the stiffness of the string: on nylon less than 8 cents at partial 4 (Fletcher 1964)."""
    open_hz = equal_temperament_hz(OPEN_NOTES[string])
    heard = find_peak_hz(render_note(touch(string, parts), 2.0), parts * open_hz)
    assert -1.0 < cents(heard, parts * open_hz) < 8.0


@pytest.mark.parametrize("parts", [2, 3, 4])
def test_what_has_no_node_where_the_finger_touches_is_not_heard(parts: int) -> None:
    """The first partial, which carries most of the open string, is gone, and the kept one is not."""

    def level(sample: Sample, partial: int) -> float:
        sound = render_note(sample, 1.0).astype(float)
        near = np.abs(np.fft.rfft(sound * np.hanning(len(sound))))
        hz = partial * equal_temperament_hz(OPEN_NOTES[3])
        place = round(hz * len(sound) / SAMPLE_RATE_HZ)
        return float(near[place - 4 : place + 5].max())

    open_string, touched = touch(3, 1), touch(3, parts)
    assert level(touched, 1) < level(touched, parts) / 100
    assert level(open_string, 1) > level(open_string, parts) / 100


def test_a_harmonic_has_a_name_of_its_own() -> None:
    assert touch(3, 3).name == "s3-f0-n74-free-in3"
    assert touch(3, 1).name == "s3-f0-n55-free"


def test_a_harmonic_rings_as_long_as_an_open_string_lets_its_partial() -> None:
    """The finger is gone: nothing damps what it left. A stopped note of the pitch dies sooner."""
    hz = equal_temperament_hz(OPEN_NOTES[4] + 12)
    ringing, stopped = (
        measure_decay_time(render_note(sample, 3.0), hz, 0.2, 2.0)
        for sample in (touch(4, 2), make_sample(4, 12, Stroke.FREE))
    )
    assert ringing > stopped
