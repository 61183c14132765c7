"""Songs from full scores and MIDI files: which part is the melody, which chords are found, what the player changes."""

import io
from collections.abc import Iterable
from contextlib import suppress
from dataclasses import replace
from fractions import Fraction
from typing import Any

import mido
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from apoyando.model.chord_text import write_chord_symbol
from apoyando.model.errors import MissingHarmonyError, SongError, UnreadableSongError, UsageError
from apoyando.model.harmony import ChordOrigin
from apoyando.model.plan import ChordChange
from apoyando.model.song import Song
from apoyando.reading import read_song, read_songs
from apoyando.reading.changed_chords import change_chords
from apoyando.reading.draft import DraftNote
from apoyando.reading.lines import top_line
from builders import make_pitch
from reading.musicxml_examples import FOUR_FOUR, chord, measure, note, score

TICKS = 480


def read(data: str | bytes, name: str = "song.musicxml", **wishes: Any) -> Song:
    return read_song(data.encode() if isinstance(data, str) else data, name, **wishes)


def named(text: str, *names: str) -> str:
    """The score with its parts called so."""
    for name in names:
        text = text.replace("<part-name/>", f"<part-name>{name}</part-name>", 1)
    return text


def part(*bars: str, attributes: str = FOUR_FOUR) -> str:
    return "".join(measure((attributes if n == 1 else "") + text, n) for n, text in enumerate(bars, 1))


def line(text: str) -> str:
    """``"C4:8 E4:4"`` in eighths; notes joined by + are a chord."""
    written = ""
    for word in text.split():
        names, eighths = word.split(":")
        first, *others = names.split("+")
        written += note(first, int(eighths))
        written += "".join(note(other, int(eighths)).replace("<note>", "<note><chord/>") for other in others)
    return written


def chords(song: Song) -> list[str]:
    return [
        f"{write_chord_symbol(span.chord) if span.chord else 'N.C.'}@{span.onset}" for span in song.harmony
    ]


def pitches(song: Song) -> str:
    return " ".join(str(one.pitch) for one in song.melody)


TUNE = part(line("E5:4 G5:4"), line("F5:4 D5:4"), line("E5:8"))
UNDER = part(line("C3+E3+G3:8"), line("G2+B3+F4:8"), line("C3+E3+G3:8"))
LOW_TUNE = part(line("E3:4 G3:4"), line("F3:4 D3:4"), line("E3:8"))
HIGH_UNDER = part(line("C5+E5+G5:8"), line("G4+B4+F5:8"), line("C5+E5+G5:8"))


# Which part is the melody.


def test_the_part_that_is_called_voice_is_the_melody_wherever_it_lies() -> None:
    song = read(named(score(HIGH_UNDER, LOW_TUNE), "Piano", "Voice"))

    assert pitches(song) == "E3 G3 F3 D3 E3"
    assert song.melody_source
    assert (song.melody_source.name, song.melody_source.reason) == ("Voice", "by its name")
    assert song.melody_source.choices == ("Piano", "Voice", "top line")


def test_else_the_part_with_the_words_is_the_melody() -> None:
    sung = LOW_TUNE.replace("</duration>", "</duration><lyric><text>la</text></lyric>", 1)
    song = read(named(score(HIGH_UNDER, sung), "Piano", "Clarinet"))

    assert song.melody_source
    assert (song.melody_source.name, song.melody_source.reason) == ("Clarinet", "it has the words")


def test_else_the_line_that_lies_highest_is_the_melody() -> None:
    assert pitches(read(named(score(UNDER, TUNE), "Piano", "Clarinet"))) == "E5 G5 F5 D5 E5"


@pytest.mark.parametrize("wanted", ["1", "piano", "Piano"])
def test_the_player_may_choose_another_by_name_or_number(wanted: str) -> None:
    song = read(named(score(HIGH_UNDER, LOW_TUNE), "Piano", "Voice"), part=wanted)

    assert pitches(song) == "G5 F5 G5"
    assert song.melody_source
    assert song.melody_source.reason == "as you chose"


def test_a_part_that_there_is_not_is_answered_with_those_that_there_are() -> None:
    with pytest.raises(UsageError, match=r'part = "Flute": .* 1 \(Piano\), 2 \(Voice\), 3 \(top line\)'):
        read(named(score(HIGH_UNDER, LOW_TUNE), "Piano", "Voice"), part="Flute")


def test_a_lead_sheet_of_two_parts_with_chords_may_have_its_melody_chosen_and_keeps_its_chords() -> None:
    written = part(*(chord(root) + line(f"{root}5:8") for root in "CGC"))
    song = read(named(score(written, LOW_TUNE), "Flute", "Cello"), part="Cello")

    assert pitches(song) == "E3 G3 F3 D3 E3"
    assert {span.origin for span in song.harmony} == {ChordOrigin.WRITTEN}


def test_of_a_piano_score_the_upper_staff_sings() -> None:
    upper = note("E5", 8, "<voice>1</voice><staff>1</staff>")
    lower = note("C3", 8, "<voice>5</voice><staff>2</staff>") + note(
        "G3", 8, "<voice>5</voice><staff>2</staff>"
    ).replace("<note>", "<note><chord/>")
    back = "<backup><duration>8</duration></backup>"
    song = read(named(score(part(upper + back + lower, upper + back + lower)), "Piano"))

    assert song.melody_source
    assert song.melody_source.choices == ("Piano, upper staff", "Piano, lower staff", "top line")
    assert (pitches(song), chords(song)) == ("E5 E5", ["C@0"])


def test_the_top_line_is_the_highest_note_struck_but_under_a_held_one() -> None:
    def struck(onset: int, name: str, length: str) -> DraftNote:
        return DraftNote(onset=Fraction(onset), duration=Fraction(length), pitch=make_pitch(name))

    line_of = top_line(
        [struck(0, "G5", "3/2"), struck(1, "E5", "1"), struck(2, "A5", "2"), struck(3, "C5", "1/2")]
    )

    assert [(str(one.pitch), one.duration) for one in line_of] == [
        ("G5", Fraction(1)),
        ("E5", Fraction(1)),
        ("A5", Fraction(2)),
    ]


# Which chords.


def test_a_score_with_accompaniment_gets_its_chords_and_says_that_they_are_found() -> None:
    song = read(named(score(TUNE, UNDER), "Voice", "Piano"))

    assert chords(song) == ["C@0", "G7@4", "C@8"]
    assert {span.origin for span in song.harmony} == {ChordOrigin.FOUND}
    assert any("found in the notes" in remark.text for remark in song.remarks)


def test_chords_that_are_written_stay_as_they_are() -> None:
    written = part(chord("F") + line("E5:8"), chord("D") + line("F5:8"), line("E5:8"))
    song = read(score(written, UNDER))

    assert chords(song) == ["F@0", "D@4"]
    assert {span.origin for span in song.harmony} == {ChordOrigin.WRITTEN}


def test_a_letter_astray_in_a_long_score_is_no_harmony_and_is_named() -> None:
    bars = [chord("D") + line("E5:8"), *(line("E5:8") for _ in range(8))]
    song = read(score(part(*bars), part(*(line("C3+G3:8") for _ in range(9)))))

    assert chords(song) == ["C@0"]
    assert any("(bar 1)" in remark.text and "left out" in remark.text for remark in song.remarks)


def test_one_chord_over_a_long_bare_tune_is_its_harmony() -> None:
    bars = [chord("D") + line("E5:8"), *(line("E5:8") for _ in range(8))]

    assert chords(read(score(part(*bars)))) == ["D@0"]


def test_a_bare_melody_is_refused_with_what_is_needed() -> None:
    with pytest.raises(MissingHarmonyError, match=r"chord symbols above the staff.*with its accompaniment"):
        read(score(TUNE))


def test_a_song_in_minor_under_a_major_signature_is_read_as_minor() -> None:
    tune = part(line("E5:8"), line("D5:8"), line("C5:8"))
    under = part(line("A2+C4:8"), line("E3+G#3+B3:8"), line("A2+C4:8"))

    assert str(read(score(tune, under)).key) == "A minor"


# MIDI.


def written(*tracks: Iterable[Any], kind: int = 1) -> bytes:
    file = mido.MidiFile(type=kind, ticks_per_beat=TICKS)
    file.tracks.extend(mido.MidiTrack(track) for track in tracks)
    stream = io.BytesIO()
    file.save(file=stream)
    return stream.getvalue()


def track(text: str, name: str = "", channel: int = 0, words: str = "") -> list[Any]:
    """``"76:1 60+64:2"``: MIDI notes and lengths in quarters; a word for each in turn."""
    messages: list[Any] = [mido.MetaMessage("track_name", name=name)] if name else []
    sung = iter(words.split())
    for word in text.split():
        numbers, length = word.split(":")
        keys = [int(number) for number in numbers.split("+")]
        syllable = next(sung, "")
        messages += [mido.MetaMessage("lyrics", text=syllable)] if syllable else []
        messages += [mido.Message("note_on", note=key, channel=channel, velocity=80) for key in keys]
        ticks = [round(Fraction(length) * TICKS), *[0] * (len(keys) - 1)]
        messages += [
            mido.Message("note_off", note=key, channel=channel, time=time)
            for key, time in zip(keys, ticks, strict=True)
        ]
    return messages


PIANO = "48+52+55:4 43+59+65:4 48+52+55:4"
SUNG = "76:2 79:2 77:2 74:2 76:4"


def test_a_midi_file_is_read_with_the_track_that_is_called_melody() -> None:
    song = read(written(track("36:12", "Bass"), track(PIANO, "Piano"), track(SUNG, "Melody")), "song.mid")

    assert (pitches(song), chords(song)) == ("E5 G5 F5 D5 E5", ["C@0", "G7@4", "C@8"])
    assert song.melody_source
    assert song.melody_source.choices == ("Bass", "Piano", "Melody", "top line")


def test_a_midi_track_with_words_is_the_melody_and_keeps_them() -> None:
    song = read(
        written(track(PIANO), track("64:2 67:2 65:2 62:2 64:4", words="Oh gen- tle Früh ling")), "song.mid"
    )

    assert song.melody_source
    assert song.melody_source.reason == "it has the words"
    assert [(one.lyrics[0].text, one.lyrics[0].syllabic) for one in song.melody][:3] == [
        ("Oh", "single"),
        ("gen", "begin"),
        ("tle", "single"),
    ]


def test_of_one_track_for_two_hands_the_top_line_sings() -> None:
    song = read(written(track("48+55+76:2 48+55+79:2 43+59+77:2 43+59+74:2 48+55+76:4")), "song.mid")

    assert (pitches(song), chords(song)) == ("E5 G5 F5 D5 E5", ["C@0", "G7@4", "C@8"])
    assert song.melody_source is None


def test_tempo_and_meter_are_the_files_own() -> None:
    signs = [
        mido.MetaMessage("time_signature", numerator=3, denominator=4),
        mido.MetaMessage("set_tempo", tempo=500_000),
    ]
    song = read(written(signs, track("76:3 77:3"), track("48+55:3 43+59:3", channel=1)), "song.mid")

    assert (str(song.bars[0].meter), song.tempo_quarters_per_minute) == ("3/4", Fraction(120))


def test_a_midi_file_with_a_bare_tune_is_refused() -> None:
    with pytest.raises(MissingHarmonyError, match="with its accompaniment"):
        read(written(track(SUNG)), "song.mid")


def test_a_midi_file_is_one_song() -> None:
    assert len(read_songs(written(track(SUNG), track(PIANO, channel=1)), "song.mid")) == 1


@pytest.mark.parametrize(
    ("data", "message"),
    [
        (b"MThd\x00\x00\x00\x06", "damaged"),
        (written([]), "no notes"),
        (written(track(SUNG, channel=9)), "only percussion"),
        (written(track(SUNG))[:-9] + b"\xff" * 9, "damaged"),
        (b"MThd" + bytes(400), "damaged|no notes|frames"),
    ],
)
def test_a_midi_file_that_is_no_song_is_refused_in_words(data: bytes, message: str) -> None:
    with pytest.raises(SongError, match=message):
        read(data, "song.mid")


@settings(max_examples=60, deadline=None)
@given(st.data())
def test_whatever_a_midi_file_holds_it_is_a_song_or_a_song_error(data: st.DataObject) -> None:
    good = bytearray(written(track(SUNG, "Melody", words="a b c"), track(PIANO, channel=1)))
    for _ in range(data.draw(st.integers(1, 6))):
        good[data.draw(st.integers(14, len(good) - 1))] = data.draw(st.integers(0, 255))
    try:
        song = read(bytes(good), "song.mid")
    except SongError:
        return
    assert song.harmony


def test_a_cut_midi_file_is_refused_or_read_but_never_crashes() -> None:
    good = written(track(SUNG, "Melody"), track(PIANO, channel=1))
    for end in range(4, len(good), 7):
        with suppress(UnreadableSongError, MissingHarmonyError):
            assert read(good[:end], "song.mid").melody


# The player's own chords.


def test_a_chord_of_the_player_goes_to_the_next_chord_and_says_whose_it_is() -> None:
    song = read(
        named(score(TUNE, UNDER), "Voice", "Piano"),
        chords=(ChordChange(bar="1", symbol="Am7", beat=Fraction(3)), ChordChange(bar="3", symbol="N.C.")),
    )

    assert chords(song) == ["C@0", "Am7@2", "G7@4", "N.C.@8"]
    assert [span.origin for span in song.harmony] == [
        ChordOrigin.FOUND,
        ChordOrigin.PLAYER,
        ChordOrigin.FOUND,
        ChordOrigin.PLAYER,
    ]
    assert song.harmony[-1].offset == song.duration


def test_the_player_may_change_written_chords_too() -> None:
    abc = b'X:1\nT:Gate\nM:4/4\nL:1/4\nK:C\n"C"CEGE|"F"FACA|]\n'

    assert chords(read_song(abc, "gate.abc", chords=(ChordChange(bar="2", symbol="Dm7"),))) == [
        "C@0",
        "Dm7@4",
    ]


@pytest.mark.parametrize(
    ("changes", "message"),
    [
        ([("9", "C", 1)], r"bar 9, beat 1: C.*no bar 9; the bars are numbered 1 to 3"),
        ([("1", "C", 5)], r"bar 1 goes from beat 1 to before beat 5"),
        ([("1", "hello", 1)], r"hello.*cannot be read"),
        ([("1", "C", 1), ("1", "D", 1)], r"one place twice: bar 1, beat 1: C; bar 1, beat 1: D"),
    ],
)
def test_a_change_that_cannot_be_meant_is_refused(changes: list[tuple[str, str, int]], message: str) -> None:
    wanted = tuple(ChordChange(bar=bar, symbol=symbol, beat=Fraction(beat)) for bar, symbol, beat in changes)

    with pytest.raises(UsageError, match=message):
        read(named(score(TUNE, UNDER), "Voice", "Piano"), chords=wanted)


def test_a_change_in_a_bar_whose_number_stands_twice_is_refused_for_it_could_mean_either() -> None:
    abc = b'X:1\nT:Gate\nM:4/4\nL:1/4\nK:C\n"C"CEGE|"F"FACA|"G"GBdB|]\n'
    song = read_song(abc, "gate.abc")
    twice = replace(song, bars=(*song.bars[:2], replace(song.bars[2], number="2")))

    with pytest.raises(UsageError, match=r"bar 2, beat 1: Am.*2 bars are numbered 2; give them numbers"):
        change_chords(twice, (ChordChange(bar="2", symbol="Am"),))
