"""Short ways to read a few bars of ABC in tests."""

from fractions import Fraction

from apoyando.model.song import Song
from apoyando.reading.abc import draft_tunes
from apoyando.reading.assembly import assemble_melody

HEADER = "%abc-2.1\nX:1\nT:Test\nM:{meter}\nL:{unit}\nK:{key}\n"


def read_abc(text: str) -> Song:
    """The first tune of a whole file, with or without chord symbols."""
    return assemble_melody(next(draft_tunes(text.encode(), "test.abc")), "test.abc")


def read_bars(body: str, *, key: str = "C", meter: str = "4/4", unit: str = "1/8") -> Song:
    return read_abc(HEADER.format(key=key, meter=meter, unit=unit) + body + "\n")


def pitches(song: Song) -> str:
    return " ".join(str(note.pitch) for note in song.melody)


def lengths(song: Song) -> list[Fraction]:
    """In quarters."""
    return [note.duration for note in song.melody]


def chords(song: Song) -> list[tuple[Fraction | int, str]]:
    return [(span.onset, span.chord.text if span.chord else "N.C.") for span in song.harmony]


def words(song: Song, verse: int = 1) -> list[str]:
    """The syllable under each note, "" where there is none; a hyphen where the word goes on."""
    return [
        next((_shown(lyric.text, lyric.syllabic) for lyric in note.lyrics if lyric.verse == verse), "")
        for note in song.melody
    ]


def _shown(text: str, syllabic: str) -> str:
    return text + ("-" if syllabic in ("begin", "middle") else "")


def remarks(song: Song) -> str:
    return "\n".join(f"{remark.bar}: {remark.text}" for remark in song.remarks)
