"""Stems: each string one note at a time, stopped exactly when its finger lifts; melody over accompaniment."""

from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest
from pyloudnorm import Meter

from apoyando.model.arrangement import Arrangement, Role
from apoyando.sound import (
    BOTH,
    SAMPLE_RATE_HZ,
    CueSheet,
    Stroke,
    Take,
    Voice,
    balance_cues,
    find_balance,
    perform,
    plan_cues,
    render_mix,
)
from apoyando.sound.stems import STOP_S, render_stem
from builders import make_arrangement, make_line, make_note, small_arrangement


def sheet_of(arrangement: Arrangement, speed: float = 1.0, *, is_phrased: bool = False) -> CueSheet:
    return plan_cues(arrangement, Take(perform(arrangement)), speed, is_phrased=is_phrased)


def stem_of(sheet: CueSheet, *roles: Role) -> np.ndarray:
    return np.asarray(np.concatenate(list(render_stem(sheet.of(*roles), sheet.duration_s)), axis=1)[0])


def mix_of(arrangement: Arrangement, *voices: Voice, is_phrased: bool = True) -> np.ndarray:
    sheet = sheet_of(arrangement, is_phrased=is_phrased)
    cues = balance_cues(sheet, find_balance(sheet), *voices or BOTH)
    return np.concatenate(list(render_mix(cues, sheet.duration_s)), axis=1)


def at(seconds: float) -> int:
    return round(seconds * SAMPLE_RATE_HZ)


def loudest(sound: np.ndarray, start_s: float, stop_s: float) -> float:
    return float(np.abs(sound[..., at(start_s) : at(stop_s)]).max())


# The end of a note. At 60 quarters a minute a quarter is a second.


def test_a_note_sounds_to_its_end_and_is_silent_afterwards() -> None:
    tune = make_arrangement(make_line("melody", "E4:1 r:1"), tempo_quarters_per_minute=Fraction(60))
    stem = stem_of(sheet_of(tune), Role.MELODY)

    assert loudest(stem, 0.95, 1.0) > 0.02
    assert loudest(stem, 1.0 + STOP_S + 0.001, 4.0) == 0.0


def test_the_string_is_stopped_as_softly_as_a_finger_does_and_without_a_click() -> None:
    tune = make_arrangement(make_line("melody", "G3:1 r:1"), tempo_quarters_per_minute=Fraction(60))
    steps = np.abs(np.diff(stem_of(sheet_of(tune), Role.MELODY)))

    assert steps[at(1.0) : at(1.0 + STOP_S) + 1].max() <= 1.05 * steps[at(0.9) : at(1.0)].max()


def test_a_string_sounds_one_note_at_a_time() -> None:
    """The bass is written for two quarters, and its string is plucked anew after one."""
    notes = [
        make_note("bass", 0, 2, "E2", string=6),
        make_note("inner", 1, 1, "G2", string=6),
    ]
    sheet = sheet_of(make_arrangement(notes, tempo_quarters_per_minute=Fraction(60)))

    first, second = sheet.of(Role.BASS, Role.INNER)
    alone = sheet.of(Role.BASS)

    assert (first.stop_s, second.onset_s, second.stop_s) == (1.0, 1.0, 2.0)
    assert [cue.stop_s for cue in alone] == [2.0]


def test_two_strings_sound_together() -> None:
    notes = [*make_line("bass", "E2:2"), *make_line("inner", "r:1 B3:1")]
    sheet = sheet_of(make_arrangement(notes, tempo_quarters_per_minute=Fraction(60)))
    assert [cue.stop_s for cue in sheet.of(Role.BASS, Role.INNER)] == [2.0, 2.0]


def test_a_note_that_two_voices_share_is_plucked_once_by_the_melody_and_held_to_the_later_end() -> None:
    notes = [make_note("melody", 0, 1, "C4", string=2), make_note("inner", 0, 2, "C4", string=2)]
    sheet = sheet_of(make_arrangement(notes, tempo_quarters_per_minute=Fraction(60)))

    (plucked,) = sheet.of(*Role)

    assert plucked.sample.stroke is Stroke.REST
    assert plucked.stop_s == 2.0
    assert len(sheet.of(Role.MELODY)) == len(sheet.of(Role.INNER)) == 1


def test_a_stem_is_the_sum_of_its_notes_wherever_the_blocks_end() -> None:
    sheet = sheet_of(small_arrangement())
    cues = sheet.of(*Role)
    whole = stem_of(sheet, *Role)
    summed = np.zeros_like(whole)
    for cue in cues:
        alone = np.concatenate(list(render_stem([cue], 0.0)), axis=1)[0]
        summed[: len(alone)] += alone
    np.testing.assert_allclose(whole, summed, atol=1e-5)


def test_slower_is_rendered_anew_and_not_stretched() -> None:
    """At half the speed the notes come at twice the times, at the same pitch."""
    tune = make_arrangement(make_line("melody", "A4:1 E4:1"), tempo_quarters_per_minute=Fraction(60))
    full, half = sheet_of(tune), sheet_of(tune, speed=0.5)

    assert [cue.onset_s for cue in half.cues] == [2 * cue.onset_s for cue in full.cues]
    assert half.samples == full.samples
    assert half.duration_s == 2 * full.duration_s


# What a note is played with.


def test_the_melody_is_played_by_rest_stroke_and_the_bass_by_the_thumb() -> None:
    strokes = {cue.role: cue.sample.stroke for cue in sheet_of(small_arrangement()).cues}
    assert strokes == {Role.MELODY: Stroke.REST, Role.BASS: Stroke.THUMB, Role.INNER: Stroke.FREE}


def test_with_a_capo_everything_sounds_higher_and_open_strings_are_still_open() -> None:
    tune = make_arrangement(make_line("melody", "E4:1 F4:1"), capo=3)
    opened, stopped = (cue.sample for cue in sheet_of(tune).cues)

    assert (opened.pitch, opened.is_open, opened.fret) == (67, True, 3)
    assert (stopped.pitch, stopped.is_open, stopped.fret) == (68, False, 4)


def test_each_cue_names_its_note_and_each_bar_its_time() -> None:
    arrangement = small_arrangement()
    sheet = sheet_of(arrangement)

    assert sorted(cue.note for cue in sheet.cues) == list(range(len(arrangement.notes)))
    assert all(arrangement.notes[cue.note].role is cue.role for cue in sheet.cues)
    assert [(bar.number, bar.onset_s) for bar in sheet.bars] == [("1", 0.0), ("2", 2.5)]


# Balance and loudness, measured by another meter.


@pytest.mark.parametrize("over_db", [3.0, 6.0, 10.0])
def test_the_melody_stands_out_by_what_was_asked(over_db: float) -> None:
    sheet = sheet_of(small_arrangement())
    balance = find_balance(sheet, over_db)
    melody, accompaniment = (
        np.concatenate(list(render_stem(balance_cues(sheet, balance, voice), sheet.duration_s)), axis=1)[0]
        for voice in BOTH
    )
    meter = Meter(SAMPLE_RATE_HZ)
    heard = meter.integrated_loudness(melody) - meter.integrated_loudness(accompaniment)
    assert heard == pytest.approx(over_db, abs=0.1)


def test_a_melody_without_accompaniment_needs_no_balance() -> None:
    sheet = sheet_of(make_arrangement(make_line("melody", "E4:1 G4:1")))
    assert [find_balance(sheet).gain(voice) for voice in BOTH] == [1.0, 1.0]


@pytest.mark.parametrize("voices", [(Voice.MELODY,), (Voice.ACCOMPANIMENT,), BOTH])
def test_whatever_is_heard_is_equally_loud_and_never_clips(voices: tuple[Voice, ...]) -> None:
    """-20 LUFS; the peak between the samples, by four times as many, under -1 dBTP (BS.1770-4, annex 2)."""
    sound = mix_of(small_arrangement(), *voices)
    between = np.fft.irfft(np.fft.rfft(sound), 4 * sound.shape[1]) * 4

    assert Meter(SAMPLE_RATE_HZ).integrated_loudness(sound.T) == pytest.approx(-20.0, abs=0.1)
    assert np.abs(between).max() < 10 ** (-1 / 20)


def test_there_are_no_clicks_in_a_mix() -> None:
    """Nowhere steeper than a sinusoid of 2 kHz at the peak; a click is a jump."""
    sound = mix_of(small_arrangement())
    assert np.abs(np.diff(sound)).max() < 2 * np.pi * 2000 / SAMPLE_RATE_HZ * np.abs(sound).max()


def test_silence_stays_silent() -> None:
    blocks = list(render_mix((), 1.0))
    assert all(not block.any() for block in blocks)


def test_the_room_rings_on_after_the_last_note_and_then_is_still() -> None:
    tune = make_arrangement(make_line("melody", "E4:1 r:1"), tempo_quarters_per_minute=Fraction(60))
    sound = mix_of(tune, Voice.MELODY, is_phrased=False)
    assert loudest(sound, 1.05, 1.15) > 1e-4
    assert loudest(sound, 1.6, 4.0) < 1e-6


def test_the_same_arrangement_gives_the_same_samples() -> None:
    assert mix_of(small_arrangement()).tobytes() == mix_of(small_arrangement()).tobytes()


def test_memory_does_not_grow_with_the_length() -> None:
    """What is handed on at a time is bounded, whatever the tempo."""
    notes = tuple(replace(note) for note in small_arrangement().notes)
    slow = make_arrangement(notes, tempo_quarters_per_minute=Fraction(6))
    sheet = sheet_of(slow)
    blocks = [block.shape[1] for block in render_mix(sheet.of(*Role), sheet.duration_s)]
    assert sum(blocks) > 80 * SAMPLE_RATE_HZ
    assert max(blocks) <= 2**16
