"""A single high note of the tune above the level's frets, over open strings."""

from fractions import Fraction

import pytest

from apoyando.arranging import arrange_in_key
from apoyando.arranging.peaks import find_peaks
from apoyando.model.arrangement import Arrangement
from apoyando.model.instrument import STANDARD_TUNING
from apoyando.model.plan import Plan
from apoyando.model.time import Span
from apoyando.proofing import LevelRule, find_over_level
from apoyando.reading import load_default_levels
from builders import make_song

INTERMEDIATE = load_default_levels()["intermediate"]
"""The tune up to fret 9 (C♯5), at a peak up to fret 12 (E5)."""


@pytest.mark.parametrize(
    ("tune", "peaks"),
    [
        ("C5:1 D5:1 C5:1", [1]),
        ("C5:1 E5:1 C5:1", [1]),
        ("C5:1 F5:1 C5:1", []),
        ("B4:1 C#5:1 B4:1", []),
        ("D5:1 E5:1 D5:1", [1]),
        ("D5:1 D5:1 C5:1", [0, 1]),
    ],
)
def test_a_peak_is_above_the_level_s_frets_with_no_higher_neighbour(tune: str, peaks: list[int]) -> None:
    melody = make_song(tune, "C:4").melody
    spans = {Span(Fraction(onset), Fraction(onset + 1)) for onset in peaks}
    assert find_peaks(melody, STANDARD_TUNING, INTERMEDIATE) == spans


def arrange(**factors: float) -> Arrangement:
    song = make_song("C5:2 D5:2 C5:4", "B.minor:4 A.minor:4")
    return arrange_in_key(song, Plan(melody_octave=0, prices=factors), INTERMEDIATE, song.key)


def test_under_a_peak_open_strings_are_struck_and_the_bar_stays_within_the_level() -> None:
    under = [note for note in arrange().notes if 2 <= note.onset < 4 and note.role.is_accompaniment]
    assert under
    assert all(note.place.is_open for note in under)
    assert find_over_level(arrange(), INTERMEDIATE) == ()


def test_a_player_who_does_not_mind_turns_it_off() -> None:
    rules = {finding.rule for finding in find_over_level(arrange(peak_over_stopped=0), INTERMEDIATE)}
    assert rules == {LevelRule.HIGHEST_FRET}
