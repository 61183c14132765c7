"""Whole tunebooks, and the notes of a sample against music21's own reading.

The tunebooks are those that music21 10.5 brings along: Ryan's Mammoth Collection (1883),
O'Neill's Music of Ireland (1903), the Essen folk songs and the Nottingham collection.

Where music21 is known to be wrong the tune is kept out of the comparison, or what
confuses music21 is taken out of the text that it gets:

* a decoration or bow sign between a broken-rhythm sign and its note (``A>.G``), an
  accidental after such a sign (``B<=g``) or after a decoration (``.^f``) is lost;
* grace notes, chord symbols and annotations get in the way of ties and tuplets;
* the first note of a line is lost after ``::`` at the end of the line before;
* accidentals reach only their own note unless the version is given;
* a hyphen between two different pitches swallows the second;
* ties between groups of notes on one stem are not merged;
* what follows an ending with words (``["Coda"``) is lost;
* files kept in quoted-printable (``=20``) put stray signs before notes.
"""

import re
from collections.abc import Iterator
from fractions import Fraction
from pathlib import Path

import music21
import pytest
from music21 import abcFormat
from music21.abcFormat import translate

from apoyando.model.errors import UnreadableSongError
from apoyando.model.song import Song
from apoyando.reading.abc.text import decode_abc
from apoyando.reading.abc.tune import draft_tune
from apoyando.reading.abc.tunebook import TuneLines, split_tunes
from apoyando.reading.assembly import assemble_melody

CORPUS = Path(music21.__file__).parent / "corpus"


def tunes_of(path: Path, step: int = 1) -> tuple[TuneLines, ...]:
    return split_tunes(decode_abc(path.read_bytes())[0])[::step]


def read_notes(tune: TuneLines, name: str) -> Song:
    return assemble_melody(draft_tune(tune, name), name)


def test_every_tune_of_ryans_mammoth_collection_is_read() -> None:
    songs = [
        read_notes(tune, path.name)
        for path in sorted((CORPUS / "ryansMammoth").glob("*.abc"))
        for tune in tunes_of(path)
    ]
    assert len(songs) == 1059
    assert all(len(song.melody) > 30 for song in songs)


@pytest.mark.parametrize(
    ("folder", "step", "least"),
    [
        ("oneills1850", 10, 180),
        ("essenFolksong", 25, 320),
        ("nottingham-dataset", 1, 1),
        ("airdsAirs", 10, 100),
    ],
)
def test_the_tunes_of_other_collections_are_read(folder: str, step: int, least: int) -> None:
    paths = sorted((CORPUS / folder).glob("*.abc"))
    songs = [read_notes(tune, path.name) for path in paths for tune in tunes_of(path, step)]
    assert len(songs) >= least
    assert all(song.melody for song in songs)


def test_what_is_no_meter_or_key_in_the_essen_collection_is_named_and_nothing_else_fails() -> None:
    """Seven headers in the collection are mistyped: M:FREI4/4, M:2/2] and K:H."""
    failures = []
    for path in (CORPUS / "essenFolksong" / name for name in ("altdeu20.abc", "ballad40.abc", "test1.abc")):
        for tune in tunes_of(path):
            try:
                read_notes(tune, path.name)
            except UnreadableSongError as error:
                failures.append(str(error))
    assert len(failures) == 3
    assert all(re.search(r"line \d+: The meter M:(FREI|2/2])", text) for text in failures)


def simplified(tune: TuneLines) -> str:
    """The notes of a tune without what confuses music21."""
    lines = ["X:1", *(f"{line.field}:{line.text.strip()}" for line in tune.header if line.field in "MLK")]
    for line in tune.body:
        if line.field in ("K", "M", "L"):
            lines.append(f"{line.field}:{line.text.strip()}")
        elif not line.field:
            plain = re.sub(r"\"[^\"]*\"|![^!\s|:\[\]]+!|\{[^}]*\}", "", line.text)
            plain = re.sub(r"\((?!\d)|\)|[.~`$y*#;?@!]|[H-Wh-w](?!:)", "", plain)
            lines.append(plain.rstrip("\\ "))
    return "\n".join(lines) + "\n"


def notes_by_music21(tune: TuneLines) -> list[tuple[int, Fraction]]:
    handler = abcFormat.ABCHandler(abcVersion=(2, 1, 0))
    handler.process(simplified(tune))
    score = translate.abcToStreamScore(handler)  # type: ignore[no-untyped-call] # music21 has no types here
    part = score.parts[0].stripTies()
    return [
        (max(pitch.midi for pitch in note.pitches), Fraction(note.quarterLength).limit_denominator(1000))
        for note in part.flatten().notes
        if not note.duration.isGrace
    ]


def confuses_music21(tune: TuneLines) -> bool:
    text = "\n".join(line.text for line in tune.body if not line.field)
    has_odd_tie = re.search(r"[A-Ga-g][,']*[\d/]*-[A-Ga-g]|\]-|-\]", text)
    return bool(
        has_odd_tie or "::" in text or "=20" in text or '["' in text or re.search(r"=\s*\n|\"[<>]", text)
    )


def sample() -> Iterator[tuple[str, TuneLines]]:
    paths = sorted((CORPUS / "ryansMammoth").glob("*.abc"))[::18]
    paths += sorted((CORPUS / "oneills1850").glob("*.abc"))[::3]
    for path in paths:
        for tune in tunes_of(path)[:1]:
            if not confuses_music21(tune):
                yield path.name, tune


SAMPLE = list(sample())


def test_the_sample_is_large_enough_to_mean_something() -> None:
    assert len(SAMPLE) >= 40


@pytest.mark.parametrize(("name", "tune"), SAMPLE, ids=[name for name, _ in SAMPLE])
def test_pitches_and_lengths_agree_with_music21(name: str, tune: TuneLines) -> None:
    song = read_notes(tune, name)
    assert [(note.pitch.midi, note.duration) for note in song.melody] == notes_by_music21(tune)
