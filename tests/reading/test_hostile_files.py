"""Files that are damaged, foreign or hostile end in one clear message, quickly, and nothing else."""

import io
import subprocess
import sys
import zipfile
import zlib
from pathlib import Path
from xml.etree import ElementTree as ET

import pytest
from hypothesis import given
from hypothesis import strategies as st

from apoyando.model.errors import SongError, UnreadableSongError
from apoyando.model.song import Song
from apoyando.reading import read_song, read_songs
from apoyando.reading.draft import MOST_BARS
from apoyando.reading.musicxml.container import MOST_MEMBERS
from reading.musicxml_examples import CONTAINER, FOUR_FOUR, chord, compressed, measure, note, packed, score

GOOD = score(measure(FOUR_FOUR + chord("C") + note("C4", 8)) + measure(note("D4", 8), 2)).encode()
EXAMPLES = sorted((Path(__file__).parents[2] / "examples").glob("*.*"))
SONGS = [path for path in EXAMPLES if path.suffix in {".abc", ".musicxml"}]


def refused(data: bytes, name: str, message: str) -> UnreadableSongError:
    with pytest.raises(UnreadableSongError, match=message) as caught:
        read_song(data, name)
    assert str(caught.value).startswith(f"{name}: ")
    return caught.value


# --- foreign ------------------------------------------------------------------------------


@pytest.mark.parametrize("data", [b"", b" \n\t ", b"\xef\xbb\xbf"])
def test_an_empty_file_is_said_to_be_empty(data: bytes) -> None:
    refused(data, "a.musicxml", "The file is empty")


@pytest.mark.parametrize(
    ("data", "message"),
    [
        (b"%PDF-1.7 ...", "a PDF"),
        (b"\x89PNG\r\n", "a picture"),
        (b"\xff\xd8\xff\xe0", "a picture"),
        (b"RIFF....WAVE", "a recording"),
        (b"{\\rtf1", "a text document"),
        (b"Dear Sir or Madam", "neither MusicXML nor ABC"),
        (bytes(range(256)), "neither MusicXML nor ABC"),
    ],
)
def test_a_foreign_file_is_called_by_its_kind_with_what_to_bring_instead(data: bytes, message: str) -> None:
    assert "MusicXML (.musicxml, .mxl), as ABC" in str(refused(data, "song.xyz", message))


@pytest.mark.parametrize("data", [b"<html><body/></html>", b"<?xml version='1.0'?><opus/>", b"<container/>"])
def test_xml_that_is_no_score_is_said_to_be_none(data: bytes) -> None:
    refused(data, "a.xml", "no MusicXML score")


def test_an_archive_without_a_score_is_said_to_hold_none() -> None:
    refused(packed(("word/document.txt", b"hello")), "letter.docx", "holds no MusicXML score")
    refused(packed(("META-INF/container.xml", b"<container/>")), "a.mxl", "holds no MusicXML score")
    refused(packed(), "a.mxl", "holds no MusicXML score|damaged")


# --- damaged ------------------------------------------------------------------------------


@pytest.mark.parametrize("share", [0.3, 0.6, 0.9, 0.99])
def test_a_truncated_score_is_said_to_break_off(share: float) -> None:
    error = refused(GOOD[: int(len(GOOD) * share)], "a.musicxml", "breaks off|damaged")
    assert "line 1" in error.problems[0].place


def test_damaged_xml_points_at_line_and_column() -> None:
    text = (
        GOOD.decode().replace("</measure>", "</measure>\n", 1).replace("<part-list>", "<part-list>\n<oops>")
    )
    error = refused(text.encode(), "a.musicxml", "The XML is damaged here")
    assert error.problems[0].place.startswith("line 2, column ")


@pytest.mark.parametrize("share", [0.2, 0.5, 0.8, 0.95])
def test_a_truncated_archive_is_said_to_be_damaged(share: float) -> None:
    data = compressed(GOOD.decode())
    refused(data[: int(len(data) * share)], "a.mxl", "damaged or not complete")


def test_an_archive_with_a_flipped_byte_is_said_to_be_damaged() -> None:
    data = bytearray(packed(("score.xml", GOOD)))
    data[60] ^= 0xFF
    with pytest.raises(SongError):
        read_song(bytes(data), "a.mxl")


def test_a_locked_archive_is_said_to_be_locked() -> None:
    data = bytearray(packed(("score.xml", GOOD), compression=zipfile.ZIP_STORED))
    for sign, offset in ((b"PK\x03\x04", 6), (b"PK\x01\x02", 8)):
        data[data.index(sign) + offset] |= 1  # the flag of an encrypted member (APPNOTE.TXT 4.4.4)
    refused(bytes(data), "a.mxl", "locked")


# --- hostile ------------------------------------------------------------------------------

LAUGHS = "".join(f'<!ENTITY lol{n} "{f"&lol{n - 1};" * 10}">' for n in range(1, 10))


@pytest.mark.parametrize(
    "subset",
    [
        f'<!ENTITY lol0 "lol">{LAUGHS}',
        '<!ENTITY file SYSTEM "file:///etc/hostname">',
        '<!ENTITY % remote SYSTEM "http://example.org/x.dtd"> %remote;',
        '<!ENTITY x PUBLIC "a" "http://example.org/">',
    ],
)
def test_entities_are_refused_before_they_unfold_or_reach_out(subset: str) -> None:
    text = f"<?xml version='1.0'?><!DOCTYPE score-partwise [{subset}]><score-partwise>&lol9;&file;</score-partwise>"
    refused(text.encode(), "a.musicxml", "entities or reaches outside itself")
    refused(compressed(text), "a.mxl", "entities or reaches outside itself")


def test_entities_are_refused_in_the_container_too() -> None:
    container = f'<!DOCTYPE container [<!ENTITY lol0 "lol">{LAUGHS}]><container>&lol9;</container>'
    refused(packed(("META-INF/container.xml", container.encode())), "a.mxl", "entities")


def test_an_archive_that_would_unfold_to_gigabytes_is_not_unfolded() -> None:
    refused(packed(("score.xml", b" " * 30_000_000)), "a.mxl", "unfold to an absurd size")


def test_an_archive_that_lies_about_its_sizes_is_read_no_further_than_allowed() -> None:
    data = packed(("score.xml", b"\x20" * 60_000_000))
    lying = data.replace((60_000_000).to_bytes(4, "little"), (1000).to_bytes(4, "little"))
    assert lying != data
    with pytest.raises(UnreadableSongError):
        read_song(lying, "a.mxl")


def test_an_archive_of_thousands_of_files_is_refused() -> None:
    members = [(f"{n}.xml", b"<a/>") for n in range(MOST_MEMBERS + 1)]
    refused(packed(*members), "a.mxl", f"holds {MOST_MEMBERS + 1} files")


@pytest.mark.parametrize("path", ["../../etc/passwd", "/etc/passwd", "a/../../b.xml"])
def test_a_container_that_points_outside_is_refused(path: str) -> None:
    container = CONTAINER.format(path=path).encode()
    refused(packed(("META-INF/container.xml", container), (path, GOOD)), "a.mxl", "points outside itself")


def test_an_archive_inside_an_archive_is_not_opened() -> None:
    refused(packed(("score.xml", packed(("score.xml", GOOD)))), "a.mxl", "damaged|not readable|breaks off")


def test_deep_nesting_is_refused() -> None:
    text = score(measure(note("C4", 8) + "<direction>" * 200 + "</direction>" * 200))
    refused(text.encode(), "a.musicxml", "nested deeper")
    refused(b"<score-partwise>" + b"<a>" * 100_000, "a.musicxml", "breaks off|nested|damaged")


def test_an_absurd_number_of_bars_is_refused() -> None:
    text = score(measure(FOUR_FOUR + chord("C") + note("C4", 8)) + "<measure/>" * (MOST_BARS + 1))
    refused(text.encode(), "a.musicxml", "absurdly long")


def test_numbers_with_absurd_exponents_are_no_numbers() -> None:
    text = GOOD.decode().replace("<duration>8<", "<duration>1e999999999<", 1)
    refused(text.encode(), "a.musicxml", "no readable length")


def test_an_absurdly_long_abc_number_is_refused() -> None:
    refused(b'X:1\nK:C\n"C"C' + b"9" * 100_000 + b"|\n", "a.abc", "absurdly long")


@pytest.mark.parametrize(
    "body",
    [
        b"(" * 200_000,
        b"[" * 50_000,
        b'"' * 100_001,
        b"{" * 50_000,
        b":|" * 50_000,
        b"!a" * 50_000,
        b"^" * 100_000,
    ],
)
def test_long_runs_of_one_sign_end_in_a_message(body: bytes) -> None:
    with pytest.raises(SongError):
        read_song(b'X:1\nK:C\n"C"' + body + b"\n", "a.abc")


# --- any bytes at all ---------------------------------------------------------------------


def reads_or_explains(data: bytes, name: str) -> None:
    """The one law for every input: a song that keeps its laws, or a message."""
    outcome = song_or_error(data, name)
    if isinstance(outcome, Song):
        assert outcome.melody
        assert outcome.harmony
    else:
        assert outcome.problems
        assert all(problem.what for problem in outcome.problems)


def song_or_error(data: bytes, name: str) -> Song | SongError:
    try:
        return read_song(data, name)
    except SongError as error:
        return error


@given(st.binary(max_size=300), st.sampled_from(["a.musicxml", "a.mxl", "a.abc", "a"]))
def test_any_bytes_give_a_song_or_a_message(data: bytes, name: str) -> None:
    reads_or_explains(data, name)


@given(st.binary(max_size=200))
def test_any_bytes_in_an_archive_give_a_song_or_a_message(data: bytes) -> None:
    reads_or_explains(packed(("score.xml", data)), "a.mxl")
    reads_or_explains(b"PK\x03\x04" + data, "a.mxl")


@given(st.data())
def test_a_song_cut_or_changed_anywhere_gives_a_song_or_a_message(data: st.DataObject) -> None:
    path = data.draw(st.sampled_from(SONGS))
    text = path.read_bytes()
    start = data.draw(st.integers(0, len(text)))
    end = data.draw(st.integers(start, min(len(text), start + 40)))
    filling = data.draw(
        st.binary(max_size=12) | st.sampled_from([b"", b"<note>", b"</note>", b"-1", b"0", b"9999"])
    )
    reads_or_explains(text[:start] + filling + text[end:], path.name)


@given(st.data())
def test_a_number_of_a_score_replaced_by_another_gives_a_song_or_a_message(data: st.DataObject) -> None:
    path = data.draw(st.sampled_from([path for path in SONGS if path.suffix == ".musicxml"]))
    pieces = path.read_text(encoding="utf-8").split(">")
    numbers = [place for place, piece in enumerate(pieces) if piece.partition("<")[0].strip().isdecimal()]
    place = data.draw(st.sampled_from(numbers))
    new = data.draw(
        st.integers(-(10**10), 10**10).map(str) | st.sampled_from(["", "0", "NaN", "1e9", "-0", "0.5"])
    )
    pieces[place] = f"{new}<{pieces[place].partition('<')[2]}"
    reads_or_explains(">".join(pieces).encode(), path.name)


@given(st.data())
def test_a_score_with_elements_missing_or_doubled_gives_a_song_or_a_message(data: st.DataObject) -> None:
    path = data.draw(st.sampled_from([path for path in SONGS if path.suffix == ".musicxml"]))
    root = ET.fromstring(path.read_bytes())  # noqa: S314 - our own example
    for _ in range(data.draw(st.integers(1, 4))):
        parents = [element for element in root.iter() if len(element)]
        parent = data.draw(st.sampled_from(parents))
        place = data.draw(st.integers(0, len(parent) - 1))
        change = data.draw(st.sampled_from(["drop", "double", "empty", "move"]))
        if change == "drop":
            del parent[place]
        elif change == "double":
            parent.insert(place, parent[place])
        elif change == "empty":
            parent[place].text, parent[place].attrib = "", {}
        else:
            parent.append(parent[place])
        if not len(root):
            break
    reads_or_explains(ET.tostring(root), path.name)


@given(st.text(alphabet="ABCDEFGabcdefgzxyZX123/|:[]()<>-_^=,'\" \n!{}&%\\~HTuvMKLPQVwsr+.", max_size=120))
def test_any_abc_body_gives_a_song_or_a_message(body: str) -> None:
    reads_or_explains(f'X:1\nT:x\nM:4/4\nL:1/8\nK:C\n"C"C8|{body}\n'.encode(), "a.abc")


@given(st.text(alphabet='XTCMLQKVPIwsUmZ:%abcdefgABCDEFG123/#= \n-+8"|', max_size=120))
def test_any_abc_header_gives_a_song_or_a_message(text: str) -> None:
    reads_or_explains(text.encode() + b'\nK:C\n"C"C8|\n', "a.abc")


@given(st.sampled_from(SONGS))
def test_the_same_bytes_give_the_same_song(path: Path) -> None:
    data = path.read_bytes()
    assert read_song(data, path.name) == read_song(data, path.name) == read_songs(data, path.name)[0]


# --- quiet and light ----------------------------------------------------------------------


def test_reading_is_quiet_and_imports_nothing_heavy() -> None:
    code = (
        "import sys; from apoyando.reading import read_song; "
        f"read_song({GOOD!r}, 'a.musicxml'); "
        "heavy = {'music21', 'numpy', 'verovio', 'typst', 'lxml', 'matplotlib'} & sys.modules.keys(); "
        "sys.exit(f'imported {heavy}' if heavy else 0)"
    )
    done = subprocess.run([sys.executable, "-W", "error", "-c", code], capture_output=True, check=False)
    assert (done.returncode, done.stdout, done.stderr) == (0, b"", b"")


def test_zlib_is_what_unpacks_a_score() -> None:
    """The archive in these tests is really compressed, or the tests on archives would show nothing."""
    data = compressed(GOOD.decode())
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        assert archive.getinfo("score.xml").compress_type == zipfile.ZIP_DEFLATED
    assert zlib.compress(GOOD)


# --- what is said of values that cannot be meant --------------------------------------------


def test_an_accidental_that_is_none_is_called_so_and_not_the_note() -> None:
    odd = GOOD.replace(b"<alter>0</alter>", b"<alter>1e400</alter>", 1)
    refused(odd, "a.musicxml", "bar 1, beat 1: The accidental of C4 is not understood")


def test_a_value_of_thousands_of_digits_is_not_said_in_full() -> None:
    messages = {
        b"<divisions>": "divided in 9+ parts",
        b"<fifths>": "The key signature has 9+ sharps or flats",
        b"<beats>": "The meter 9+/4 cannot be meant",
        b"<octave>": "There is no pitch C9+",
    }
    for tag, message in messages.items():
        odd = GOOD.replace(tag, tag + b"9" * 5000, 1)
        assert len(str(refused(odd, "a.musicxml", message))) < 200


@pytest.mark.parametrize("beats", [b"0x10", b"-4", b"4.5", b"3+", b"four"])
def test_a_meter_is_not_made_of_the_digits_of_something_else(beats: bytes) -> None:
    """W3C MusicXML 4.0, element beats: a number, or a sum such as 3+2."""
    odd = GOOD.replace(b"<beats>4</beats>", b"<beats>%s</beats>" % beats, 1)
    refused(odd, "a.musicxml", "The meter .*/4 cannot be meant")


def test_a_midi_file_of_a_kind_that_there_is_not_is_damaged() -> None:
    header = b"MThd\x00\x00\x00\x06\x00"  # Standard MIDI Files 1.0: formats 0, 1 and 2
    refused(header + b"\x09\x00\x00\x01\xe0", "a.mid", "The MIDI file is damaged")
    refused(header + b"\x02\x00\x00\x01\xe0", "a.mid", "several pieces at once")
    refused(header + b"\x01\x00\x00\x00\x00", "a.mid", "damaged: a quarter note has no time")
    refused(header + b"\x01\x00\x00\xe7\x28", "a.mid", "frames of a film")  # 25 frames, 40 ticks
