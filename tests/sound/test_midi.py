"""MIDI as written, re-read by pretty_midi, music21 and mido.

Sources: MIDI 1.0 (Standard MIDI Files); General MIDI Level 1 sound set.
"""

import io
from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from typing import Any

import mido
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from music21 import converter
from pretty_midi import PrettyMIDI, program_to_instrument_name

from apoyando.model.arrangement import Arrangement, Role
from apoyando.model.pitch import Key, Mode
from apoyando.model.song import Jump, Meter
from apoyando.sound import write_midi
from builders import change_bar, make_arrangement, make_bars, make_line, make_note, small_arrangement


def read_by_mido(arrangement: Arrangement) -> Any:
    return mido.MidiFile(file=io.BytesIO(write_midi(arrangement)), charset="utf-8")


def read_by_pretty_midi(arrangement: Arrangement) -> Any:
    return PrettyMIDI(io.BytesIO(write_midi(arrangement)))


def conductor(arrangement: Arrangement, kind: str) -> list[tuple[int, Any]]:
    """Ticks and messages of one kind on the first track."""
    now, found = 0, []
    for message in read_by_mido(arrangement).tracks[0]:
        now += message.time
        if message.type == kind:
            found.append((now, message))
    return found


def struck(arrangement: Arrangement, track: int) -> list[Any]:
    """Onset and end in quarters and the key, in order."""
    midi = read_by_mido(arrangement)
    now, down, found = 0, {}, []
    for message in midi.tracks[track]:
        now += message.time
        if message.type == "note_on":
            assert message.note not in down, "a key is struck while it is down"
            down[message.note] = now
        elif message.type == "note_off":
            start = down.pop(message.note)
            found.append(
                (Fraction(start, midi.ticks_per_beat), Fraction(now, midi.ticks_per_beat), message.note)
            )
    assert not down
    return sorted(found)


# --- the file ----------------------------------------------------------------------------


def test_there_are_three_tracks_conductor_melody_accompaniment() -> None:
    midi = read_by_mido(small_arrangement())
    assert midi.type == 1
    assert [track.name for track in midi.tracks] == ["A Small Tune", "melody", "accompaniment"]


def test_the_instrument_is_the_nylon_guitar_of_general_midi() -> None:
    """GM Level 1: program 25, Acoustic Guitar (nylon); on the wire 24."""
    instruments = read_by_pretty_midi(small_arrangement()).instruments
    assert [program_to_instrument_name(i.program) for i in instruments] == ["Acoustic Guitar (nylon)"] * 2
    assert [i.program for i in instruments] == [24, 24]


def test_melody_and_accompaniment_have_a_channel_each() -> None:
    channels = [
        {message.channel for message in track if not message.is_meta}
        for track in read_by_mido(small_arrangement()).tracks
    ]
    assert channels == [set(), {0}, {1}]


def test_the_melody_is_clearly_louder_and_the_bass_a_little_above_the_inner_voice() -> None:
    melody, accompaniment = read_by_pretty_midi(small_arrangement()).instruments
    tune = {n.velocity for n in melody.notes}
    bass = {n.velocity for n in accompaniment.notes if n.pitch <= 48}
    inner = {n.velocity for n in accompaniment.notes if n.pitch > 48}
    assert min(tune) >= 1.5 * max(bass)
    assert min(bass) > max(inner)


def test_the_same_arrangement_gives_the_same_bytes() -> None:
    assert write_midi(small_arrangement()) == write_midi(small_arrangement())


def test_a_title_in_any_script_is_kept() -> None:
    assert read_by_mido(replace(small_arrangement(), title="Ära – 歌")).tracks[0].name == "Ära – 歌"


# --- time --------------------------------------------------------------------------------


def test_pretty_midi_hears_every_note_at_its_second() -> None:
    arrangement = replace(small_arrangement(), tempo_quarters_per_minute=Fraction(120))
    read = sorted(
        (round(n.start, 6), round(n.end, 6), n.pitch)
        for instrument in read_by_pretty_midi(arrangement).instruments
        for n in instrument.notes
    )
    assert read == sorted((float(n.onset / 2), float(n.offset / 2), n.pitch.midi) for n in arrangement.notes)


def test_music21_hears_the_same_melody() -> None:
    arrangement = small_arrangement()
    score: Any = converter.parseData(write_midi(arrangement), format="midi")
    part = score.parts[0]
    read = [(Fraction(n.getOffsetInHierarchy(part)), n.pitch.midi) for n in part.recurse().notes]
    assert read == [(n.onset, n.pitch.midi) for n in arrangement.voice(Role.MELODY)]


@pytest.mark.parametrize("parts", [3, 5, 7, 9, 11, 13])
def test_tuplets_fall_on_exact_ticks(parts: int) -> None:
    tune = make_line("melody", " ".join([f"E4:{Fraction(1, parts)}"] * parts))
    onsets = [onset for onset, _, _ in struck(make_arrangement(tune), 1)]
    assert onsets == [Fraction(k, parts) for k in range(parts)]


def test_lengths_that_no_clock_can_count_are_rounded_and_still_sound() -> None:
    tune = make_line("melody", "E4:1/1009 G4:1/65537 E4:2")
    assert [key for _, _, key in struck(make_arrangement(tune), 1)] == [64, 67, 64]


def test_the_tempo_is_told_in_microseconds_of_a_quarter() -> None:
    arrangement = replace(small_arrangement(), tempo_quarters_per_minute=Fraction(90))
    assert [message.tempo for _, message in conductor(arrangement, "set_tempo")] == [666_667]
    slow = replace(small_arrangement(), tempo_quarters_per_minute=Fraction(1))
    assert [message.tempo for _, message in conductor(slow, "set_tempo")] == [0xFFFFFF], "24 bits"


def test_tracks_last_as_long_as_the_music_rests_included() -> None:
    arrangement = make_arrangement(make_line("melody", "E4:1"), make_bars(2))
    midi = read_by_mido(arrangement)
    assert [sum(m.time for m in track) for track in midi.tracks] == [8 * midi.ticks_per_beat] * 3


# --- meters and keys ---------------------------------------------------------------------


def test_meters_and_keys_are_told_where_they_change() -> None:
    bars = change_bar(make_bars(3, "4/4"), 1, key=Key(2))
    bars = change_bar(bars, 2, key=Key(2))
    arrangement = make_arrangement(make_line("melody", "E4:12"), bars)
    ticks = read_by_mido(arrangement).ticks_per_beat
    assert [(t, m.key) for t, m in conductor(arrangement, "key_signature")] == [(0, "C"), (4 * ticks, "D")]
    assert [(t, m.numerator) for t, m in conductor(arrangement, "time_signature")] == [(0, 4)]


@pytest.mark.parametrize(
    ("key", "capo", "name"),
    [
        (Key(-3), 0, "Eb"),
        (Key(1, Mode.MINOR), 0, "Em"),
        (Key(2, Mode.DORIAN), 0, "D"),
        (Key(1), 2, "A"),
        (Key(0), 1, "Db"),
        (Key(0, Mode.MINOR), 3, "Cm"),
        (Key(9), 0, "C#"),
    ],
)
def test_the_key_is_the_one_that_is_heard(key: Key, capo: int, name: str) -> None:
    bars = change_bar(make_bars(1), 0, key=key)
    arrangement = make_arrangement(make_line("melody", "E4:4"), bars, capo=capo)
    assert [m.key for _, m in conductor(arrangement, "key_signature")] == [name]


def test_a_pickup_has_a_meter_of_its_own_so_that_barlines_fall_right() -> None:
    for pickup, meter in ((Fraction(1), (1, 4)), (Fraction(3, 2), (3, 8)), (Fraction(1, 4), (1, 16))):
        arrangement = make_arrangement([make_note("melody", 0, 4, "E4")], make_bars(1, pickup=pickup))
        told = [(t, (m.numerator, m.denominator)) for t, m in conductor(arrangement, "time_signature")]
        ticks = read_by_mido(arrangement).ticks_per_beat
        assert told == [(0, meter), (pickup * ticks, (4, 4))]
        first_bar = read_by_pretty_midi(arrangement).get_downbeats()[1]
        assert first_bar == pytest.approx(float(pickup) * 60 / 96)


def test_a_bar_length_that_is_no_meter_keeps_the_written_one() -> None:
    arrangement = make_arrangement(make_line("melody", "E4:1/3"), make_bars(1, pickup=Fraction(1, 3)))
    assert [(m.numerator, m.denominator) for _, m in conductor(arrangement, "time_signature")] == [(4, 4)]


def test_compound_and_cut_meters_are_told_as_written() -> None:
    bars = change_bar(make_bars(1), 0, meter=Meter(2, 2, "cut"))
    arrangement = make_arrangement(make_line("melody", "E4:4"), bars)
    assert [(m.numerator, m.denominator) for _, m in conductor(arrangement, "time_signature")] == [(2, 2)]


# --- pitch -------------------------------------------------------------------------------


def test_with_a_capo_everything_sounds_higher() -> None:
    plain, capo = small_arrangement(), replace(small_arrangement(), capo=3)
    for track in (1, 2):
        assert struck(capo, track) == [(on, off, key + 3) for on, off, key in struck(plain, track)]


def test_one_pitch_on_two_strings_is_struck_again_and_held_to_the_last_end() -> None:
    held = make_note("bass", 0, 4, "E3", string=4)
    again = make_note("inner", 1, 1, "E3", string=5)
    assert struck(make_arrangement([held, again]), 2) == [(0, 1, 52), (1, 4, 52)]


def test_one_pitch_struck_twice_at_once_sounds_once_at_the_louder_of_the_two() -> None:
    twice = make_arrangement(
        [make_note("bass", 0, 1, "E3", string=5), make_note("inner", 0, 2, "E3", string=4)]
    )
    assert struck(twice, 2) == [(0, 2, 52)]
    velocities = {m.velocity for m in read_by_mido(twice).tracks[2] if m.type == "note_on"}
    assert velocities == {m.velocity for m in read_by_mido(small_bass()).tracks[2] if m.type == "note_on"}


def small_bass() -> Arrangement:
    return make_arrangement(make_line("bass", "C3:1"))


def test_a_repeated_note_is_struck_again_at_the_very_tick_it_ends() -> None:
    assert struck(make_arrangement(make_line("melody", "E4:1 E4:1")), 1) == [(0, 1, 64), (1, 2, 64)]


# --- the form played out -----------------------------------------------------------------


def keys(arrangement: Arrangement, track: int = 1) -> list[int]:
    return [key for _, _, key in struck(arrangement, track)]


def test_repeats_and_endings_are_played() -> None:
    bars = change_bar(make_bars(3), 0, starts_repeat=True)
    bars = change_bar(bars, 1, endings=(1,), repeat_times=2)
    bars = change_bar(bars, 2, endings=(2,))
    tune = make_arrangement(make_line("melody", "C4:4 D4:4 E4:4"), bars)
    assert struck(tune, 1) == [(0, 4, 60), (4, 8, 62), (8, 12, 60), (12, 16, 64)]


def test_da_capo_al_fine_is_played() -> None:
    bars = change_bar(change_bar(make_bars(3), 0, jumps=(Jump.FINE,)), 2, jumps=(Jump.DA_CAPO,))
    assert keys(make_arrangement(make_line("melody", "C4:4 D4:4 E4:4"), bars)) == [60, 62, 64, 60]


def test_a_note_over_the_barline_ends_with_its_bar_where_the_music_turns_back() -> None:
    bars = change_bar(make_bars(2), 0, repeat_times=2)
    tune = make_arrangement(make_line("melody", "C4:3 D4:3 E4:2"), bars)
    assert struck(tune, 1) == [(0, 3, 60), (3, 4, 62), (4, 7, 60), (7, 10, 62), (10, 12, 64)]


def test_a_note_held_into_a_bar_is_struck_at_its_start_where_the_music_comes_from_elsewhere() -> None:
    bars = change_bar(make_bars(2), 1, starts_repeat=True, repeat_times=2)
    tune = make_arrangement(make_line("melody", "C4:3 D4:3 E4:2"), bars)
    assert struck(tune, 1) == [(0, 3, 60), (3, 6, 62), (6, 8, 64), (8, 10, 62), (10, 12, 64)]


def test_a_rolled_chord_is_struck_note_by_note_from_the_lowest() -> None:
    notes = [replace(n, is_rolled=True) for n in make_line("inner", "C3+G3+E4:2")]
    step = Fraction(1, 16)
    assert struck(make_arrangement(notes), 2) == [(0, 2, 48), (step, 2, 55), (2 * step, 2, 64)]


def test_a_chord_too_short_to_be_rolled_slowly_is_rolled_in_half_its_time() -> None:
    notes = [replace(n, is_rolled=True) for n in make_line("inner", "C3+G3:1/16 r:4")]
    onsets = [onset for onset, _, _ in struck(make_arrangement(notes), 2)]
    assert onsets == [0, Fraction(1, 64)]


# --- properties --------------------------------------------------------------------------

lengths = st.sampled_from([Fraction(n, d) for d in (1, 2, 3, 4, 5) for n in (1, 2, 3)])
words = st.tuples(st.sampled_from(["E4", "G4", "r", "C5", "E4"]), lengths)


def text(drawn: Sequence[tuple[str, Fraction]]) -> str:
    return " ".join(f"{name}:{length}" for name, length in drawn)


@settings(deadline=None)
@given(st.lists(words, max_size=12), st.lists(words, max_size=12))
def test_without_repeats_a_line_sounds_exactly_as_written(
    melody: list[tuple[str, Fraction]], bass: list[tuple[str, Fraction]]
) -> None:
    notes = (*make_line("melody", text(melody)), *make_line("bass", text(bass)))
    arrangement = make_arrangement(notes, make_bars(12))
    for track, role in ((1, Role.MELODY), (2, Role.BASS)):
        written = sorted((n.onset, n.offset, n.pitch.midi) for n in arrangement.voice(role))
        assert struck(arrangement, track) == written
