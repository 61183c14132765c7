"""The songs in ``examples/``, each checked against what anyone who knows the tune would say of it."""

from fractions import Fraction
from pathlib import Path

import pytest

from apoyando.model.song import Song
from apoyando.reading import read_song

EXAMPLES = Path(__file__).parents[2] / "examples"
SONGS = sorted(path for path in EXAMPLES.iterdir() if path.suffix in {".abc", ".musicxml"})


def example(name: str) -> Song:
    return read_song((EXAMPLES / name).read_bytes(), name)


def names(song: Song, first: int, count: int) -> list[str]:
    """Pitches of the melody from the first note of a bar on."""
    start = song.bars[first].onset
    return [str(note.pitch) for note in song.melody if note.onset >= start][:count]


@pytest.mark.parametrize("path", SONGS, ids=lambda path: path.name)
def test_every_example_is_read_without_a_remark(path: Path) -> None:
    song = read_song(path.read_bytes(), path.name)
    assert song.remarks == ()
    assert song.title
    assert song.composer
    assert song.tempo_quarters_per_minute


@pytest.mark.parametrize("path", SONGS, ids=lambda path: path.name)
def test_every_bar_of_an_example_is_full_but_for_the_pickup_and_what_completes_it(path: Path) -> None:
    song = read_song(path.read_bytes(), path.name)
    short = [bar for bar in song.bars if bar.span.duration != bar.meter.bar_length]
    assert not short or short == [song.bars[0], song.bars[-1]]
    assert not short or sum(bar.span.duration for bar in short) == song.bars[0].meter.bar_length


def test_first_light_is_an_aaba_song_of_32_bars_in_g_with_sevenths_and_slash_chords() -> None:
    song = example("first-light.abc")
    assert len(song.bars) == 32
    assert str(song.key) == "G major"
    assert [(bar.number, bar.section) for bar in song.bars if bar.section] == [
        ("1", "A"), ("9", "A"), ("17", "B"), ("25", "A"),
    ]  # fmt: skip
    chords = {span.chord.text for span in song.harmony if span.chord}
    assert {"Em7/D", "G/B", "Cmaj7", "D7", "Cm6", "D7sus4"} <= chords
    assert song.melody[-1].has_fermata


def test_greensleeves_has_its_pickup_and_its_raised_seventh() -> None:
    song = example("greensleeves.abc")
    assert str(song.key) == "A minor"
    assert (song.bars[0].is_pickup, song.bars[0].span.duration) == (True, Fraction(1, 2))
    assert names(song, 0, 7) == ["A4", "C5", "D5", "E5", "F5", "E5", "D5"]
    assert names(song, 4, 3) == ["B4", "G#4", "E4"]


def test_amazing_grace_begins_on_the_fifth_and_has_a_syllable_for_every_sung_note() -> None:
    song = example("amazing-grace.abc")
    assert names(song, 0, 6) == ["D4", "G4", "B4", "G4", "B4", "A4"]
    words = " ".join(lyric.text for note in song.melody for lyric in note.lyrics)
    assert words.startswith("A maz ing grace, how sweet the sound, that saved a wretch like me!")
    assert words.endswith("was blind, but now I see.")


def test_ode_to_joy_has_a_first_and_a_second_ending() -> None:
    song = example("ode-to-joy.musicxml")
    assert names(song, 0, 15) == [
        "F#4",
        "F#4",
        "G4",
        "A4",
        "A4",
        "G4",
        "F#4",
        "E4",
        "D4",
        "D4",
        "E4",
        "F#4",
        "F#4",
        "E4",
        "E4",
    ]
    assert [(bar.number, bar.endings, bar.repeat_times) for bar in song.bars if bar.endings] == [
        ("4", (1,), 2), ("5", (2,), 0),
    ]  # fmt: skip


def test_auld_lang_syne_has_its_pickup_and_its_words() -> None:
    song = example("auld-lang-syne.musicxml")
    assert names(song, 0, 5) == ["C4", "F4", "F4", "F4", "A4"]
    assert song.lyricist == "Robert Burns, 1788"
    first = [(lyric.text, lyric.syllabic) for note in song.melody[:5] for lyric in note.lyrics]
    assert first == [
        ("Should", "single"), ("auld", "single"), ("ac", "begin"), ("quaint", "middle"), ("ance", "end"),
    ]  # fmt: skip


def test_the_waltz_is_in_three() -> None:
    song = example("vineyard-waltz.musicxml")
    assert str(song.bars[0].meter) == "3/4"
    assert {bar.endings for bar in song.bars} == {(), (1,), (2,)}
