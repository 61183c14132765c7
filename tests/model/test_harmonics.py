"""Natural harmonics against the physics of the string.

Source: a string touched at k/n of its length (k and n without common divisor) keeps the partials n, 2n,
3n …, and sounds n times as high (Fletcher & Rossing, The Physics of Musical Instruments, 1998, ch. 2).
That the harmonics of the classical guitar are taken at frets 12, 7 and 5 is common practice, no source.
"""

from math import gcd, log2

import pytest

from apoyando.model.instrument import (
    DROP_D_TUNING,
    NODES,
    STANDARD_TUNING,
    STRINGS,
    Fret,
    Place,
    touch_point_mm,
)
from builders import make_pitch

SCALE_MM = 650.0


@pytest.mark.parametrize(("fret", "parts"), NODES.items())
def test_over_each_wire_lies_a_node_of_its_partial_and_none_of_a_lower_one(fret: int, parts: int) -> None:
    """Within 1 % of the string, which is less than half of a finger tip (about 14 mm broad, an estimate)."""
    touched = touch_point_mm(Place(STRINGS[0], Fret(fret)))[0] / SCALE_MM
    assert touched == pytest.approx(1 - 2 ** (-fret / 12))
    assert min(abs(touched - k / parts) for k in range(1, parts) if gcd(k, parts) == 1) < 0.01
    for fewer in range(2, parts):
        assert min(abs(touched - k / fewer) for k in range(1, fewer)) > 0.01


@pytest.mark.parametrize(("fret", "parts"), NODES.items())
def test_what_sounds_is_the_partial_to_the_nearest_semitone(fret: int, parts: int) -> None:
    for string in STRINGS:
        sounding = STANDARD_TUNING.harmonic_at(Place(string, Fret(fret)))
        assert sounding is not None
        assert abs(sounding - STANDARD_TUNING.open_note(string) - 12 * log2(parts)) < 0.15


@pytest.mark.parametrize(
    ("string", "fret", "pitch"),
    [(1, 12, "E5"), (3, 12, "G4"), (6, 12, "E3"), (5, 7, "E4"), (3, 7, "D5"), (2, 5, "B5"), (6, 5, "E4")],
)
def test_the_usual_harmonics_sound_as_methods_have_them(string: int, fret: int, pitch: str) -> None:
    """At 12 the octave, at 7 the octave and a fifth, at 5 two octaves (common practice, no source)."""
    assert STANDARD_TUNING.harmonic_at(Place(STRINGS[string - 1], Fret(fret))) == make_pitch(pitch).midi


def test_tuning_by_harmonics_finds_two_strings_alike() -> None:
    """Fret 5 of a string and fret 7 of the next higher one sound alike, but for the third string
    (common practice, no source)."""
    for low, high in ((6, 5), (5, 4), (4, 3), (2, 1)):
        at_five = STANDARD_TUNING.harmonic_at(Place(STRINGS[low - 1], Fret(5)))
        assert at_five == STANDARD_TUNING.harmonic_at(Place(STRINGS[high - 1], Fret(7)))


def test_where_no_node_lies_there_is_no_harmonic() -> None:
    assert STANDARD_TUNING.harmonic_at(Place(STRINGS[0], Fret(6))) is None
    assert STANDARD_TUNING.harmonic_at(Place(STRINGS[0], Fret(0))) is None


def test_places_come_with_the_surest_harmonics_first_and_below_the_last_fret() -> None:
    places = STANDARD_TUNING.harmonic_places(make_pitch("E4").midi, highest_fret=12)
    assert [(place.string, place.fret) for place in places] == [(5, 7), (6, 5)]
    assert DROP_D_TUNING.harmonic_places(make_pitch("D3").midi) == (Place(STRINGS[5], Fret(12)),)
    assert STANDARD_TUNING.harmonic_places(make_pitch("C5").midi) == ()
