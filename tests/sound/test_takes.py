"""Takes: count-in, clicks, and bars that go round; as sound and as MIDI."""

import io
from dataclasses import replace
from fractions import Fraction
from typing import Any

import mido
import numpy as np
import pytest

from apoyando.model.arrangement import Arrangement, Role
from apoyando.sound import (
    CueSheet,
    Take,
    find_beats,
    perform,
    plan_cues,
    render_mix,
    repeat_take,
    with_clicks,
    with_count_in,
    write_midi,
)
from builders import make_arrangement, make_bars, make_line, small_arrangement

Moments = list[Any]
"""Fractions beside whole numbers: they are equal, whatever a checker of types says."""


def piece(text: str, meter: str, count: int, pickup: str = "0") -> Arrangement:
    """At 60 quarters a minute: a quarter is a second."""
    bars = make_bars(count, meter, pickup=pickup)
    return make_arrangement(make_line("melody", text), bars, tempo_quarters_per_minute=Fraction(60))


def take_of(arrangement: Arrangement) -> Take:
    return Take(perform(arrangement))


def even(arrangement: Arrangement, take: Take) -> CueSheet:
    return plan_cues(arrangement, take, is_phrased=False)


def beats(take: Take) -> Moments:
    return [(beat.onset, beat.is_first) for beat in take.clicks]


def numbers(take: Take) -> list[str]:
    return [played.bar.number for played in take.performance.bars]


# Beats.


@pytest.mark.parametrize(
    ("meter", "expected"),
    [
        ("3/4", [0, 1, 2]),
        ("6/8", [0, "3/2"]),
        ("C|", [0, 2]),
        ("7/8", [0, "1/2", 1, "3/2", 2, "5/2", 3]),
    ],
)
def test_a_beat_is_the_felt_pulse_of_the_meter(meter: str, expected: list[str | int]) -> None:
    found = find_beats(perform(piece("E4:1/2", meter, 1)))
    assert [beat.onset for beat in found] == [Fraction(onset) for onset in expected]
    assert [beat.is_first for beat in found] == [True] + [False] * (len(expected) - 1)


def test_a_pickup_has_the_last_beats_of_its_bar() -> None:
    found = find_beats(perform(piece("E4:1", "3/4", 1, pickup="1")))
    heard: Moments = [(beat.onset, beat.is_first) for beat in found]
    assert heard == [(0, False), (1, True), (2, False), (3, False)]


def test_a_pickup_between_beats_waits_for_the_next_one() -> None:
    found = find_beats(perform(piece("E4:1/2", "2/4", 1, pickup="1/2")))
    assert [(beat.onset, beat.is_first) for beat in found] == [
        (Fraction(1, 2), True),
        (Fraction(3, 2), False),
    ]


# Count-in.


def test_one_bar_is_counted_before_the_music() -> None:
    take = with_count_in(take_of(piece("E4:3", "3/4", 1)))
    assert beats(take) == [(0, True), (1, False), (2, False)]
    assert take.music_onset == 3
    assert take.performance.notes[0].onset == 3
    assert take.duration == 6


def test_before_a_pickup_the_beats_that_its_bar_lacks_are_counted_too() -> None:
    """In three: one two three, one two, and in."""
    take = with_count_in(take_of(piece("D4:1 E4:3", "3/4", 1, pickup="1")))
    assert beats(take) == [(0, True), (1, False), (2, False), (3, True), (4, False)]
    assert take.music_onset == 5


def test_clicks_go_on_through_the_music_where_they_are_wanted() -> None:
    take = with_clicks(with_count_in(take_of(piece("E4:2 F4:2", "2/4", 2))))
    assert beats(take) == [(Fraction(onset), onset % 2 == 0) for onset in range(6)]


def test_at_half_the_speed_the_count_is_half_as_fast() -> None:
    tune = piece("E4:3", "3/4", 1)
    sheet = plan_cues(tune, with_count_in(take_of(tune)), 0.5, is_phrased=False)
    assert [click.onset_s for click in sheet.clicks] == [0.0, 2.0, 4.0]
    assert sheet.cues[0].onset_s == 6.0


def test_clicks_are_heard_where_they_are_counted_and_the_music_does_not_change() -> None:
    tune = piece("E4:3", "3/4", 1)
    sheet = even(tune, with_count_in(take_of(tune)))
    with_click, without = (
        np.concatenate(list(render_mix(sheet.cues, sheet.duration_s, clicks)), axis=1)
        for clicks in (sheet.clicks, ())
    )
    clicks = with_click - without
    starts = [round(at * 48_000) for at in (0.0, 1.0, 2.0)]
    peaks = [float(np.abs(clicks[:, start : start + 4800]).max()) for start in starts]
    assert peaks[0] > peaks[1] == pytest.approx(peaks[2], rel=0.01)
    assert all(0.05 < peak < 0.2 for peak in peaks)
    assert np.abs(clicks[:, 3 * 48_000 :]).max() < 1e-6
    assert np.abs(np.diff(clicks)).max() < 0.05


# Again and again.


def test_bars_go_round_without_a_gap() -> None:
    tune = piece("E4:4 F4:4 G4:4", "4/4", 3)
    once = Take(perform(tune, [1, 2]))
    again = repeat_take(once, 3)
    assert numbers(again) == ["2", "3"] * 3
    assert again.duration == 24
    struck: Moments = [(note.onset, note.note.pitch.midi) for note in again.performance.notes]
    assert struck == [
        (0, 65),
        (4, 67),
        (8, 65),
        (12, 67),
        (16, 65),
        (20, 67),
    ]


def test_a_note_held_into_the_first_bar_that_goes_round_is_struck_at_its_start() -> None:
    tune = piece("E4:6 G4:2", "4/4", 2)
    once = perform(tune, [1])
    held: Moments = [(note.onset, note.offset) for note in once.notes]
    assert held == [(0, 2), (2, 4)]


def test_with_a_count_in_each_round_is_counted() -> None:
    again = repeat_take(with_count_in(take_of(piece("E4:2", "2/4", 1))), 2)
    assert [beat.onset for beat in again.clicks] == [0, 1, 4, 5]
    assert [note.onset for note in again.performance.notes] == [2, 6]


# MIDI.


def midi_of(arrangement: Arrangement, take: Take, **more: object) -> mido.MidiFile:
    return mido.MidiFile(file=io.BytesIO(write_midi(arrangement, take, **more)))  # type: ignore[arg-type]


def onsets(midi: mido.MidiFile, track: int, kind: str = "note_on") -> Moments:
    now = 0
    found: Moments = []
    for message in midi.tracks[track]:
        now += message.time
        if message.type == kind:
            found.append(Fraction(now, midi.ticks_per_beat))
    return found


def test_the_midi_file_of_a_take_has_its_clicks_on_the_percussion_channel() -> None:
    """GM Level 1: channel 10, high and low wood block are notes 76 and 77."""
    tune = piece("D4:1 E4:3", "3/4", 1, pickup="1")
    midi = midi_of(tune, with_count_in(take_of(tune)))
    clicks = [message for message in midi.tracks[3] if message.type == "note_on"]

    assert [track.name for track in midi.tracks][3] == "clicks"
    assert {message.channel for message in clicks} == {9}
    assert [message.note for message in clicks] == [76, 77, 77, 76, 77]
    assert onsets(midi, 3) == [0, 1, 2, 3, 4]
    assert onsets(midi, 1) == [5, 6]


def test_barlines_stand_where_they_should_after_a_count_in() -> None:
    """A bar of three, and another that the pickup fills: one meter from the start."""
    tune = piece("D4:1 E4:3", "3/4", 1, pickup="1")
    midi = midi_of(tune, with_count_in(take_of(tune)))
    assert onsets(midi, 0, "time_signature") == [0]


def test_a_voice_that_is_not_wanted_has_no_track() -> None:
    arrangement = small_arrangement()
    midi = midi_of(arrangement, take_of(arrangement), roles={Role.MELODY})
    assert [track.name for track in midi.tracks] == ["A Small Tune", "melody"]


def test_a_slow_take_has_a_slow_tempo_and_the_same_notes() -> None:
    arrangement = small_arrangement()
    full, half = (midi_of(arrangement, take_of(arrangement), speed=Fraction(speed)) for speed in ("1", "1/2"))
    tempo = [next(m.tempo for m in midi.tracks[0] if m.type == "set_tempo") for midi in (full, half)]
    assert tempo[1] == 2 * tempo[0]
    assert onsets(full, 2) == onsets(half, 2)


def test_sound_and_midi_of_an_even_take_agree_in_time() -> None:
    arrangement = replace(small_arrangement(), tempo_quarters_per_minute=Fraction(60))
    take = with_count_in(take_of(arrangement))
    heard = [cue.onset_s for cue in even(arrangement, take).cues if cue.role is Role.MELODY]
    assert heard == [float(onset) for onset in onsets(midi_of(arrangement, take), 1)]
