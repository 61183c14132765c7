"""Phrasing: small, the same each time, and to be turned off; tempo from quarters to seconds."""

from dataclasses import replace
from fractions import Fraction

import pytest

from apoyando.model.arrangement import Arrangement, Role
from apoyando.model.time import Span
from apoyando.sound import Cue, CueSheet, Take, perform, plan_cues
from apoyando.sound.phrasing import FERMATA_FACTOR, SPREAD_S
from apoyando.sound.tempo import Easing, set_clock
from builders import make_arrangement, make_bars, make_line, small_arrangement

EIGHTHS = " ".join(["E4:1/2 G4:1/2 A4:1/2 G4:1/2 E4:1/2 D4:1/2 C4:1/2 D4:1/2"] * 3)


def plan(arrangement: Arrangement, *, is_phrased: bool = True) -> CueSheet:
    return plan_cues(arrangement, Take(perform(arrangement)), is_phrased=is_phrased)


def slow(text: str, role: str = "melody", count: int | None = None) -> Arrangement:
    """At 60 quarters a minute: a quarter is a second."""
    bars = make_bars(count) if count else None
    return make_arrangement(make_line(role, text), bars, tempo_quarters_per_minute=Fraction(60))


def gains(cues: tuple[Cue, ...]) -> list[float]:
    return [round(cue.gain, 3) for cue in cues]


# Tempo.


def test_an_even_tempo_is_a_straight_line() -> None:
    clock = set_clock(90.0)
    assert clock.second(Fraction(3)) == pytest.approx(2.0)


def test_an_easing_makes_its_span_longer_and_what_follows_later() -> None:
    clock = set_clock(60.0, [Easing(Span(Fraction(1), Fraction(2)), 1.5)])
    assert [clock.second(Fraction(at)) for at in ("1", "3/2", "2", "3")] == [1.0, 1.75, 2.5, 3.5]


def test_of_two_easings_on_one_place_the_longer_counts() -> None:
    clock = set_clock(
        60.0, [Easing(Span(Fraction(0), Fraction(2)), 1.2), Easing(Span(Fraction(1), Fraction(2)), 2.0)]
    )
    assert clock.second(Fraction(2)) == pytest.approx(3.2)


# Off.


def test_without_phrasing_every_note_of_a_voice_is_as_loud_and_exactly_in_time() -> None:
    sheet = plan(slow(EIGHTHS), is_phrased=False)
    assert gains(sheet.cues) == [1.0] * 24
    assert [cue.onset_s for cue in sheet.cues] == [step / 2 for step in range(24)]


# On.


def test_the_first_of_a_bar_is_heaviest_and_what_lies_between_the_beats_lightest() -> None:
    first, off, second, *_ = gains(plan(slow(EIGHTHS)).cues)
    assert first > second > off


def test_the_accompaniment_is_more_even_than_the_melody() -> None:
    def range_of(role: str) -> float:
        heard = gains(plan(slow(EIGHTHS, role)).cues[:-1])
        return max(heard) / min(heard)

    assert 1.0 < range_of("bass") < range_of("melody")


def test_a_phrase_ends_softer_and_later() -> None:
    tune = slow("E4:1 F4:1 G4:1 C5:1 r:2 E4:1 F4:1 G4:1 A4:1 B4:1 C5:1 r:4", count=4)
    cues = plan(tune).cues
    assert cues[3].gain < cues[2].gain
    assert cues[3].stop_s == pytest.approx(4.05)
    assert cues[2].stop_s == pytest.approx(3.0)


def test_a_phrase_of_few_notes_is_not_shaped_by_itself() -> None:
    cues = plan(slow("E4:1 F4:1 C5:1 r:1 E4:1 F4:1 G4:1 A4:1 r:4", count=3)).cues
    assert cues[3].onset_s == pytest.approx(4.0)


def test_a_fermata_is_held_and_all_voices_wait_for_it() -> None:
    melody = make_line("melody", "E4:1 G4:1 C5:2 r:4")
    held = [replace(note, has_fermata=note.pitch.midi == 72) for note in melody]
    tune = make_arrangement(
        (*held, *make_line("bass", "C3:4 r:4")), make_bars(2), tempo_quarters_per_minute=Fraction(60)
    )
    sheet = plan(tune)
    assert {cue.stop_s for cue in sheet.of(Role.MELODY, Role.BASS)} == {1.0, 2.0, 2.0 + 2 * FERMATA_FACTOR}


def test_the_last_bar_broadens() -> None:
    assert plan(small_arrangement()).duration_s == pytest.approx(2.5 * 2.15, rel=0.03)


def test_a_full_chord_is_struck_from_the_lowest_within_a_blink_and_two_notes_at_once() -> None:
    chord = plan(slow("C3+G3+E4:2 C3+E4:2", "inner")).cues
    assert [round(cue.onset_s, 4) for cue in chord[:3]] == [0.0, SPREAD_S, 2 * SPREAD_S]
    assert [cue.sample.pitch for cue in chord[:3]] == [48, 55, 64]
    assert chord[3].onset_s == chord[4].onset_s


def test_a_rolled_chord_is_rolled_with_and_without_phrasing() -> None:
    notes = [replace(note, is_rolled=True) for note in make_line("inner", "C3+G3+E4:2")]
    tune = make_arrangement(notes, tempo_quarters_per_minute=Fraction(60))
    for is_phrased in (True, False):
        onsets = [cue.onset_s for cue in plan(tune, is_phrased=is_phrased).cues]
        assert onsets == pytest.approx([0.0, 0.0625 * 1.0, 0.125], rel=0.16)


def test_phrasing_keeps_every_note_and_their_order() -> None:
    even, shaped = (plan(small_arrangement(), is_phrased=is_phrased) for is_phrased in (False, True))
    assert [cue.note for cue in shaped.cues] == [cue.note for cue in even.cues]
    assert all(cue.duration_s > 0 for cue in shaped.cues)


# Uneven meters.


@pytest.mark.parametrize(
    ("meter", "heard"),
    [("5/8", "1.0 -1 -1 0 -1"), ("2+3/8", "1.0 -1 0 -1 -1"), ("3+2+2/8", "1.0 -1 -1 0 -1 0 -1")],
)
def test_in_uneven_meters_the_groups_are_the_beats(meter: str, heard: str) -> None:
    """The first of the bar is heavier, the first of a group as it is, the rest lighter."""
    count = len(heard.split())
    bars = make_bars(2, meter)
    line = make_line("melody", "E4:1/2 " * (2 * count))
    cues = plan(make_arrangement(line, bars, tempo_quarters_per_minute=Fraction(60))).cues
    plain = cues[heard.split().index("0")].gain
    signs = [(cue.gain > plain * 1.01) - (cue.gain < plain * 0.99) for cue in cues[:count]]
    assert signs == [round(float(word)) for word in heard.split()]
