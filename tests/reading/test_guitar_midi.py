"""Guitar music in Standard MIDI Files: bars, values, voices, and a word on each guess.

pretty_midi writes files from outside; mido writes those that it cannot.
"""

import io
import re
from collections.abc import Iterable
from fractions import Fraction
from typing import Any

import mido
import pretty_midi
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from apoyando.model.errors import SongError, UnreadableSongError
from apoyando.model.score import NOTHING_GIVEN, Score
from apoyando.model.time import Span
from apoyando.reading import read_score
from apoyando.reading.midi.quantizing import quantize
from apoyando.sound import write_midi
from builders import make_arrangement, make_bars, make_harmony, make_line, small_arrangement

TICKS = 480


def read(data: bytes) -> Score:
    return read_score(data, "study.mid")


def written(*tracks: Iterable[Any], ticks: int = TICKS, kind: int = 1) -> bytes:
    file = mido.MidiFile(type=kind, ticks_per_beat=ticks)
    file.tracks.extend(mido.MidiTrack(track) for track in tracks)
    stream = io.BytesIO()
    file.save(file=stream)
    return stream.getvalue()


def line(text: str, channel: int = 0) -> list[Any]:
    """``"60:1 62:1/2"``: MIDI notes one after the other, lengths in quarters; 0 is a rest."""
    messages: list[Any] = []
    wait = 0
    for word in text.split():
        number, length = word.split(":")
        ticks = round(Fraction(length) * TICKS)
        if number == "0":
            wait += ticks
            continue
        messages.append(mido.Message("note_on", note=int(number), channel=channel, velocity=80, time=wait))
        messages.append(mido.Message("note_off", note=int(number), channel=channel, time=ticks))
        wait = 0
    return messages


def shape(score: Score) -> list[tuple[Any, ...]]:
    """Pitch, voice, onset and duration of each note."""
    return [(str(one.pitch), one.voice, one.onset, one.duration) for one in score.notes]


def texts(score: Score) -> list[str]:
    return [remark.text for remark in score.remarks]


def pitches(score: Score) -> list[str]:
    return [str(one.pitch) for one in score.notes]


# Notes and voices.


def test_each_track_is_a_voice_and_the_file_says_nothing_of_the_hands() -> None:
    score = read(written(line("64:1 65:1 67:2"), line("48:4")))

    assert shape(score) == [
        ("E4", 1, 0, 1),
        ("C3", 2, 0, 4),
        ("F4", 1, 1, 1),
        ("G4", 1, 2, 2),
    ]
    assert all(one.given == NOTHING_GIVEN for one in score.notes)
    assert "Each of the 2 tracks or channels is read as a voice." in texts(score)


def test_two_channels_of_one_track_are_two_voices() -> None:
    both = [*line("64:4"), *line("0:0 48:4", channel=1)]

    assert read(written(both, kind=0)).voices == (1, 2)


def test_all_on_one_channel_is_told_apart_into_top_line_bass_and_inner_notes() -> None:
    """Written by pretty_midi: C3 held under G3 and C4, E4 on top."""
    file = pretty_midi.PrettyMIDI(initial_tempo=60)
    guitar = pretty_midi.Instrument(program=24)
    for pitch, start, end in ((48, 0.0, 4.0), (64, 0.0, 2.0), (55, 1.0, 2.0), (65, 2.0, 4.0), (60, 3.0, 4.0)):
        guitar.notes.append(pretty_midi.Note(velocity=80, pitch=pitch, start=start, end=end))
    file.instruments.append(guitar)
    stream = io.BytesIO()
    file.write(stream)
    score = read(stream.getvalue())

    assert shape(score) == [
        ("E4", 1, 0, 2),
        ("C3", 2, 0, 4),
        ("G3", 3, 1, 1),
        ("F4", 1, 2, 2),
        ("C4", 3, 3, 1),
    ]
    assert score.tempo_quarters_per_minute == 60
    assert any("told apart by pitch" in text for text in texts(score))


def test_only_the_guitars_are_read_where_some_parts_are_guitars() -> None:
    guitar = [mido.Message("program_change", program=24, channel=0), *line("64:4")]
    flute = [mido.Message("program_change", program=73, channel=1), *line("76:2 77:2", channel=1)]
    score = read(written(guitar, flute))

    assert pitches(score) == ["E4"]
    assert any("2 other notes are left out" in text for text in texts(score))


def test_what_could_move_a_terminal_is_not_read_into_the_title() -> None:
    named = [mido.MetaMessage("track_name", name="Pond\x1b[2J \x07Study\x9b")]
    assert read(written(named, line("64:4"))).title == "Pond[2J Study"


def test_percussion_has_no_pitch_and_is_left_out() -> None:
    """Channel 10 of General MIDI Level 1."""
    assert pitches(read(written(line("64:4"), line("36:4", channel=9)))) == ["E4"]


def test_a_key_pressed_again_while_it_is_down_ends_and_begins_anew() -> None:
    again = [
        mido.Message("note_on", note=60, time=0),
        mido.Message("note_on", note=60, time=TICKS),
        mido.Message("note_off", note=60, time=TICKS),
    ]

    assert shape(read(written(again))) == [("C4", 1, 0, 1), ("C4", 1, 1, 1)]


@pytest.mark.parametrize("late", [0, 8])
def test_a_note_struck_again_just_before_its_release_lasts_until_its_own(late: int) -> None:
    """The first release is that of the first press (common practice, no source)."""
    again = [
        mido.Message("note_on", note=60, time=0),
        mido.Message("note_on", note=60, time=TICKS),
        mido.Message("note_off", note=60, time=late),
        mido.Message("note_off", note=60, time=2 * TICKS - late),
    ]
    assert shape(read(written(again))) == [("C4", 1, 0, 1), ("C4", 1, 1, 2)]


def test_a_key_that_is_never_let_go_ends_with_its_track() -> None:
    open_end = [mido.Message("note_on", note=60, time=0), mido.MetaMessage("end_of_track", time=TICKS)]

    assert shape(read(written(open_end))) == [("C4", 1, 0, 1)]


# Bars, key, tempo.


def conductor(*messages: Any) -> list[Any]:
    return list(messages)


def test_meter_key_and_tempo_are_the_file_s() -> None:
    head = conductor(
        mido.MetaMessage("track_name", name="Pond Study"),
        mido.MetaMessage("time_signature", numerator=6, denominator=8),
        mido.MetaMessage("key_signature", key="Em"),
        mido.MetaMessage("set_tempo", tempo=500_000),
    )
    score = read(written(head, line("64:3 66:3")))

    assert (score.title, str(score.key), str(score.bars[0].meter)) == ("Pond Study", "E minor", "6/8")
    assert score.tempo_quarters_per_minute == 120
    assert [bar.number for bar in score.bars] == ["1", "2"]


def test_a_key_signature_that_cannot_be_meant_is_left_out_and_told() -> None:
    """Standard MIDI Files 1.0, FF 59 02 sf mi: sf from 7 flats to 7 sharps, mi 0 or 1. One bad event
    of twelve thousand must not cost the piece.
    """
    good = written([mido.MetaMessage("key_signature", key="Eb")], line("60:1 62:1"))
    sound = b"\xff\x59\x02\xfd\x00"
    assert good.count(sound) == 1
    assert str(read(good).key) == "Eb major"
    for odd in (b"\x08\x00", b"\xf8\x01", b"\x00\x02", b"\x0a\xff"):
        score = read(good.replace(sound, sound[:3] + odd))
        assert [note.duration for note in score.notes] == [1, 1]
        assert "A key signature of the file cannot be meant and is left out." in texts(score)
        assert "The file names no key" in " ".join(texts(score))


def test_a_meter_or_a_tempo_that_cannot_be_meant_is_left_out_and_told() -> None:
    head = [
        mido.MetaMessage("time_signature", numerator=0, denominator=4),
        mido.MetaMessage("time_signature", numerator=3, denominator=2**20),
        mido.MetaMessage("set_tempo", tempo=0),
        mido.MetaMessage("set_tempo", tempo=1),
    ]
    score = read(written(head, line("60:1 62:1")))

    assert (str(score.bars[0].meter), score.tempo_quarters_per_minute) == ("4/4", None)
    for what in ("meter 0/4", "meter 3/1048576", "tempo 0", "tempo 6e+07"):
        assert f"The {what} cannot be meant and is left out." in texts(score)


def test_a_silence_that_nobody_can_mean_is_a_damaged_file() -> None:
    """One wrong byte in a delta time (Standard MIDI Files 1.0) puts the rest hours away."""
    assert read(written(line("60:1 0:999 62:1"))).notes[-1].onset == 1000
    with pytest.raises(UnreadableSongError, match="nothing is struck for 1001 quarters"):
        read(written(line("60:1 0:1000 62:1")))
    with pytest.raises(UnreadableSongError, match="nothing is struck for 1001 quarters"):
        read(written(line("60:1001 62:1")))
    with pytest.raises(UnreadableSongError, match="nothing is struck for 1001 quarters"):
        read(written(line("0:1001 62:1")))


def test_a_missing_meter_and_key_are_guessed_and_told() -> None:
    score = read(written(line("55:1 59:1 62:1 66:1 67:4")))

    assert (str(score.bars[0].meter), str(score.key)) == ("4/4", "G major")
    assert "The file names no meter: read as 4/4." in texts(score)
    assert "The file names no key: read as G major." in texts(score)


def test_a_first_bar_in_a_shorter_meter_of_its_own_is_a_pickup() -> None:
    head = conductor(
        mido.MetaMessage("time_signature", numerator=1, denominator=4),
        mido.MetaMessage("time_signature", numerator=3, denominator=4, time=TICKS),
    )
    score = read(written(head, line("62:1 67:3")))

    assert [(bar.number, bar.is_pickup, str(bar.meter)) for bar in score.bars] == [
        ("0", True, "3/4"),
        ("1", False, "3/4"),
    ]


@pytest.mark.parametrize(
    ("key", "expected"),
    [
        ("C", ["C#4", "Eb4", "F#4", "G#4", "Bb4"]),
        ("E", ["C#4", "D#4", "F#4", "G#4", "A#4"]),
        ("Bb", ["Db4", "Eb4", "F#4", "Ab4", "Bb4"]),
        ("Am", ["C#4", "Eb4", "F#4", "G#4", "Bb4"]),  # the raised sixth and seventh of A minor
    ],
)
def test_black_keys_are_spelled_by_the_signature(key: str, expected: list[str]) -> None:
    """Common practice, no source: the nearest names on the line of fifths."""
    head = conductor(mido.MetaMessage("key_signature", key=key))

    assert pitches(read(written(head, line("61:1 63:1 66:1 68:1 70:1")))) == expected


# Quantizing.


def spans(*edges: tuple[str, str]) -> list[Span]:
    return [Span(Fraction(onset), Fraction(offset)) for onset, offset in edges]


def test_exact_values_stay_as_they_are() -> None:
    exact = spans(
        ("0", "1/2"), ("1/2", "3/4"), ("3/4", "1"), ("1", "4/3"), ("4/3", "5/3"), ("5/3", "2"), ("2", "7/2")
    )

    assert quantize(exact) == exact


@pytest.mark.parametrize("shift", ["1/50", "-1/50", "1/30"])
def test_sixteenths_played_a_little_off_are_sixteenths(shift: str) -> None:
    """A fiftieth of a quarter is 12 ms at 100 quarters a minute."""
    off = Fraction(shift)
    exact = spans(*((f"{n}/4", f"{n + 1}/4") for n in range(4, 12)))
    played = [
        Span(span.onset + off * (-1) ** index, span.offset - Fraction(1, 20))
        for index, span in enumerate(exact)
    ]

    assert quantize(played) == exact


def test_triplets_played_a_little_off_are_triplets_beside_eighths() -> None:
    exact = spans(("0", "1/3"), ("1/3", "2/3"), ("2/3", "1"), ("1", "3/2"), ("3/2", "2"))
    played = [Span(span.onset + Fraction(1, 60), span.offset) for span in exact]

    assert quantize(played) == exact


def test_a_chord_that_is_rolled_a_little_is_struck_together() -> None:
    rolled = spans(("1", "2"), ("51/50", "2"), ("26/25", "2"))

    assert {span.onset for span in quantize(rolled)} == {1}


@given(st.lists(st.tuples(st.integers(0, 4000), st.integers(1, 2000)), min_size=1, max_size=12))
def test_no_note_ever_vanishes(presses: list[tuple[int, int]]) -> None:
    """``Span`` refuses to be empty."""
    played = [Span(Fraction(on, TICKS), Fraction(on + length, TICKS)) for on, length in presses]

    assert len(quantize(played)) == len(played)


# Our own files.


def test_the_arranger_s_own_file_gives_back_its_notes() -> None:
    arrangement = small_arrangement()
    score = read(write_midi(arrangement))

    assert sorted((one.onset, one.pitch.midi, one.duration) for one in score.notes) == sorted(
        (one.onset, one.pitch.midi, one.duration) for one in arrangement.notes
    )
    assert score.bars[0].meter == arrangement.bars[0].meter


def test_a_pickup_and_triplets_of_our_own_come_back() -> None:
    notes = make_line("melody", "G4:1 C5:1/3 D5:1/3 E5:1/3 C5:2")
    arrangement = make_arrangement(notes, make_bars(1, "3/4", pickup=1), harmony=make_harmony("C:4"))
    score = read(write_midi(arrangement))

    assert [(one.onset, one.duration) for one in score.notes] == [(n.onset, n.duration) for n in notes]
    assert score.bars[0].is_pickup


def in_riff(*chunks: tuple[bytes, bytes]) -> bytes:
    """As RP-029 of the MIDI Association has it: sizes little-endian, each chunk filled up to an even size."""
    inside = b"".join(
        name + len(held).to_bytes(4, "little") + held + bytes(len(held) % 2) for name, held in chunks
    )
    return b"RIFF" + (4 + len(inside)).to_bytes(4, "little") + b"RMID" + inside


def test_a_midi_file_in_a_riff_form_is_read_as_it_is() -> None:
    file = write_midi(small_arrangement())
    for chunks in ([(b"data", file)], [(b"DISP", b"odd"), (b"data", file), (b"LIST", b"INFO")]):
        assert read_score(in_riff(*chunks), "study.rmi") == read(file)


# Trouble.


@pytest.mark.parametrize(
    ("data", "message"),
    [
        (b"MThd", "damaged or not complete"),
        (in_riff(), "damaged or not complete"),
        (in_riff((b"data", b"")), "damaged or not complete"),
        (in_riff((b"data", written(line("64:1"))))[:-9], "damaged or not complete"),
        (
            b"MThd\x00\x00\x00\x06\x00\x01\x00\x01\xe7\x28" + b"MTrk\x00\x00\x00\x04\x00\xff\x2f\x00",
            "frames of a film",
        ),
        (written(line("64:1"), kind=2), "several pieces at once"),
        (written(line("36:1", channel=9)), "There are no notes in the file"),
        (written([]), "There are no notes in the file"),
        (b"MThd" + bytes(4_000_001), "too large"),
        (
            written([mido.Message("note_on", note=60), mido.Message("note_off", note=60, time=2**27)]),
            "absurdly long",
        ),
    ],
)
def test_a_file_that_cannot_be_read_says_why_and_what_to_do(data: bytes, message: str) -> None:
    with pytest.raises(UnreadableSongError, match=re.escape(message)) as caught:
        read(data)
    assert "MusicXML" in str(caught.value)


def reads_or_explains(data: bytes) -> None:
    try:
        result: object = read(data).notes
    except SongError as error:
        result = error.problems
    assert result


@settings(max_examples=80, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.data())
def test_a_file_cut_or_changed_anywhere_gives_a_score_or_a_message(data: st.DataObject) -> None:
    whole = write_midi(small_arrangement())
    place = data.draw(st.integers(0, len(whole) - 1))
    reads_or_explains(whole[:place])
    reads_or_explains(whole[:place] + bytes([data.draw(st.integers(0, 255))]) + whole[place + 1 :])


@settings(max_examples=60, deadline=None)
@given(st.binary(max_size=200))
def test_any_bytes_after_a_head_give_a_score_or_a_message(data: bytes) -> None:
    head = b"MThd\x00\x00\x00\x06\x00\x01\x00\x01\x01\xe0"
    reads_or_explains(head + b"MTrk" + len(data).to_bytes(4, "big") + data)
