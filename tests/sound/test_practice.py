"""The practice set, the cue sheet for other players, and the picture of a bar."""

import io
import json
from dataclasses import replace
from fractions import Fraction

import mido
import numpy as np
import pytest
import soundfile
from defusedxml import ElementTree
from pyloudnorm import Meter

from apoyando.model.arrangement import Arrangement, Role
from apoyando.model.instrument import DROP_D_TUNING
from apoyando.sound import (
    AudioFormat,
    PracticeWishes,
    Track,
    Voice,
    describe_playback,
    draw_bar_sound,
    encode_sample,
    plan_playback,
    plan_practice,
    render_track,
    sample_seconds,
    write_playlist,
    write_track_midi,
)
from builders import make_arrangement, make_bars, make_form, make_line, small_arrangement
from references.plucked_strings import equal_temperament_hz, find_peak_hz

WISHES = PracticeWishes(audio_format=AudioFormat.WAV)


def names(arrangement: Arrangement, hard: tuple[int, ...] = (), wishes: PracticeWishes = WISHES) -> list[str]:
    return [track.stem for track in plan_practice(arrangement, hard, wishes)]


def track_of(name: str, arrangement: Arrangement, wishes: PracticeWishes = WISHES) -> Track:
    return next(t for t in plan_practice(arrangement, (1, 0), wishes) if t.name == name)


def hear(track: Track, wishes: PracticeWishes = WISHES) -> np.ndarray:
    samples, _ = soundfile.read(io.BytesIO(render_track(track, wishes)), always_2d=True)
    return np.asarray(samples.T)


def three_bars() -> Arrangement:
    notes = (*make_line("melody", "E4:4 F4:4 G4:4"), *make_line("bass", "C3:4 F3:4 C3:4"))
    return make_arrangement(notes, make_bars(3), tempo_quarters_per_minute=Fraction(240))


# Which tracks.


def test_a_set_goes_from_tuning_over_the_voices_and_the_slow_versions_to_the_hard_bars() -> None:
    assert names(small_arrangement(), hard=(1, 0)) == [
        "01-tuning-standard",
        "02-melody",
        "03-together",
        "04-accompaniment",
        "05-slow-50",
        "06-slow-60",
        "07-slow-75",
        "08-slow-90",
        "09-loop-bar-2",
        "10-loop-bar-1",
        "11-tuning-drop-d",
    ]


def test_a_piece_in_drop_d_is_tuned_in_drop_d_first() -> None:
    stems = names(replace(small_arrangement(), tuning=DROP_D_TUNING))
    assert (stems[0], stems[-1]) == ("01-tuning-drop-d", "09-tuning-standard")


def test_without_an_accompaniment_there_is_only_the_melody() -> None:
    tune = make_arrangement(make_line("melody", "E4:4"))
    assert names(tune, wishes=replace(WISHES, slow_percent=())) == [
        "01-tuning-standard",
        "02-melody",
        "03-tuning-drop-d",
    ]


def test_a_printed_number_that_no_file_can_have_is_made_fit() -> None:
    tune = three_bars()
    bars = (tune.bars[0], replace(tune.bars[1], number="2/b"), tune.bars[2])
    assert "09-loop-bar-2-b" in names(replace(tune, bars=bars), hard=(1,))


# What is in them.


def test_the_melody_alone_has_no_accompaniment_and_the_other_way_round() -> None:
    for name, voices, roles in (
        ("melody", (Voice.MELODY,), {"melody"}),
        ("accompaniment", (Voice.ACCOMPANIMENT,), {"accompaniment"}),
    ):
        track = track_of(name, small_arrangement())
        midi = mido.MidiFile(file=io.BytesIO(write_track_midi(track)))
        assert track.voices == voices
        assert {each.name for each in midi.tracks[1:]} - {"clicks"} == roles


def test_a_hard_bar_goes_round_eight_times_after_the_bar_before_it_at_60_percent() -> None:
    track = track_of("loop-bar-2", three_bars())
    assert [played.bar.number for played in track.take.performance.bars] == ["1", "2"] * 8
    assert track.percent == 60
    assert track.cue_sheet.duration_s == pytest.approx(16 * 1.0 / 0.6)


def test_the_first_bar_goes_round_after_a_bar_of_count_in() -> None:
    track = track_of("loop-bar-1", three_bars())
    assert [played.bar.number for played in track.take.performance.bars] == ["1"] * 8
    assert track.take.music_onset == 4


def test_the_bar_before_is_the_one_that_is_played_before_and_not_the_one_that_is_written_before() -> None:
    """A second ending follows the repeated bar, not the first ending."""
    tune = make_arrangement(make_line("melody", "E4:4 F4:4 G4:4"), make_form(": A | B [1 : | C [2"))
    track = next(t for t in plan_practice(tune, (2,), WISHES) if "loop" in t.name)
    assert [played.bar.number for played in track.take.performance.bars[:2]] == ["1", "3"]


def test_the_tuning_gives_each_open_string_from_the_lowest() -> None:
    sound = hear(track_of("tuning-drop-d", small_arrangement())).mean(axis=0)
    for place, note in enumerate((38, 45, 50, 55, 59, 64)):
        plucked = sound[place * 8 * 48_000 : (place * 8 + 3) * 48_000]
        wanted = equal_temperament_hz(note)
        assert abs(1200 * np.log2(find_peak_hz(plucked, wanted) / wanted)) < 1.0


def test_a_click_keeps_the_tempo_even() -> None:
    phrased, clicked = (
        track_of("together", small_arrangement(), replace(WISHES, has_clicks=has_clicks)).cue_sheet
        for has_clicks in (False, True)
    )
    assert clicked.duration_s < phrased.duration_s
    assert len(clicked.clicks) == 12
    assert len(phrased.clicks) == 4


def test_even_is_without_phrasing_and_a_count_in_can_be_left_out() -> None:
    plain = replace(WISHES, is_phrased=False, has_count_in=False)
    sheet = track_of("together", small_arrangement(), plain).cue_sheet
    assert sheet.clicks == ()
    assert sheet.duration_s == pytest.approx(5.0)


def test_every_track_is_as_loud_as_the_others_count_in_included() -> None:
    for name in ("melody", "together", "slow-50"):
        sound = hear(track_of(name, small_arrangement()))
        assert Meter(48_000).integrated_loudness(sound.T) == pytest.approx(-20.0, abs=0.5)
        assert np.abs(sound).max() < 10 ** (-1.4 / 20)


def test_the_same_piece_gives_the_same_files() -> None:
    track = track_of("together", small_arrangement())
    assert render_track(track, WISHES) == render_track(track, WISHES)
    assert write_track_midi(track) == write_track_midi(track)


def test_the_playlist_names_every_track_with_its_seconds() -> None:
    tracks = plan_practice(small_arrangement(), (), WISHES)
    lines = write_playlist(tracks, WISHES).decode().splitlines()
    assert lines[:2] == ["#EXTM3U", "#EXTENC:UTF-8"]
    assert lines[2:4] == ["#EXTINF:48,Tuning: E A D G B E", "01-tuning-standard.wav"]
    assert lines[3::2] == [f"{track.stem}.wav" for track in tracks]


# For other players.


def test_a_sheet_for_another_player_is_plain_and_names_every_sample() -> None:
    arrangement = small_arrangement()
    sheet = plan_playback(arrangement)
    told = json.loads(json.dumps(describe_playback(sheet)))

    assert {note["sample"] for note in told["notes"]} == {sample.name for sample in sheet.samples}
    assert len({sample.name for sample in sheet.samples}) == len(sheet.samples)
    assert {note["voice"] for note in told["notes"]} == {"melody", "accompaniment"}
    assert [bar["number"] for bar in told["bars"]] == ["1", "2"]
    assert len(told["beats"]) == 8
    assert told["notes"][0]["onset_s"] == 0.0
    assert told["duration_s"] > told["notes"][-1]["onset_s"]


def test_its_gains_let_the_melody_stand_out() -> None:
    quiet, loud = (plan_playback(small_arrangement(), over_db) for over_db in (0.0, 12.0))
    for one, other in zip(quiet.cues, loud.cues, strict=True):
        ratio = 1.0 if one.role is Role.MELODY else 10 ** (12 / 20)
        assert one.gain / other.gain == pytest.approx(ratio)


def test_a_sample_is_long_enough_for_its_longest_note_at_the_slowest_speed() -> None:
    sheet = plan_playback(small_arrangement())
    for sample, seconds in sample_seconds(sheet, slowest=0.5).items():
        longest = max(cue.duration_s for cue in sheet.cues if cue.sample == sample)
        assert seconds > 2 * longest


@pytest.mark.parametrize("audio_format", [AudioFormat.WAV, AudioFormat.OGG])
def test_a_sample_is_a_file_of_one_channel(audio_format: AudioFormat) -> None:
    sample = plan_playback(small_arrangement()).samples[0]
    samples, rate = soundfile.read(io.BytesIO(encode_sample(sample, 1.0, audio_format)))
    assert samples.shape == (48_000,)
    assert rate == 48_000
    assert 0.2 < np.abs(samples).max() < 0.6


# The picture.

SVG = "{http://www.w3.org/2000/svg}"


def test_the_picture_has_a_beam_for_each_note_as_long_as_it_is_held() -> None:
    tune = make_arrangement(
        make_line("melody", "E4:4 F4:1 G4:3"), make_bars(2), tempo_quarters_per_minute=Fraction(60)
    )
    root = ElementTree.fromstring(draw_bar_sound(tune, 1))
    beams = [float(beam.get("width", "0")) for beam in root.iter(f"{SVG}rect")]
    words = [text.text for text in root.iter(f"{SVG}text")]

    assert "A Small Tune, bar 2" in words
    assert beams[-1] / beams[-2] == pytest.approx(3.0, rel=0.01)
    assert any("G4" in (word or "") for word in words)


def test_the_waveform_falls_to_nothing_where_a_note_is_cut() -> None:
    """Of a bar of four seconds only the first has a note; the waveform is flat from there on."""
    tune = make_arrangement(
        make_line("melody", "E4:1 r:3"), make_bars(1), tempo_quarters_per_minute=Fraction(60)
    )
    root = ElementTree.fromstring(draw_bar_sound(tune, 0))
    melody = next(root.iter(f"{SVG}polygon")).get("points", "")
    points = [tuple(map(float, point.split(","))) for point in melody.split()]
    top = points[: len(points) // 2]
    heights = [top[-1][1] - y for _, y in top]
    cut = round(len(top) * (0.08 + 1.015) / (0.08 + 4 + 0.35)) + 2

    assert max(heights[: cut - 10]) > 40
    assert heights[cut - 20] > 1
    assert max(map(abs, heights[cut:])) == 0.0


def test_the_picture_of_a_bar_is_the_same_each_time() -> None:
    assert draw_bar_sound(small_arrangement(), 0) == draw_bar_sound(small_arrangement(), 0)
