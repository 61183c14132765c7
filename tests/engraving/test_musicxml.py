"""MusicXML 4.0 as written, against the W3C schema, music21, and a naive reader of our own.

The standard: W3C Community Group, MusicXML 4.0, https://www.w3.org/2021/06/musicxml40/.
"""

import io
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
import verovio
from hypothesis import given, settings
from hypothesis import strategies as st
from lxml import etree
from music21 import converter, harmony, note, repeat, tempo

from apoyando.engraving import engrave_both, engrave_musicxml, engrave_pdf
from apoyando.engraving.drawing.shapes import Text
from apoyando.engraving.musicxml.document import write_musicxml
from apoyando.engraving.notation.score import notate
from apoyando.engraving.notation.selection import notate_whole
from apoyando.engraving.page.page import make_pages
from apoyando.model.arrangement import Arrangement, Note, Role
from apoyando.model.dynamics import Dynamic, Layer, Loudness
from apoyando.model.form import play_order
from apoyando.model.harmony import KIND_DEGREES, Chord, Degree, DegreeChange, HarmonySpan
from apoyando.model.instrument import DROP_D_TUNING
from apoyando.model.pitch import Key, Mode, PitchName, Step
from apoyando.model.ring import Ending, Ring
from apoyando.model.sheet import Paper, Sheet, Staves, Variant
from apoyando.model.song import Jump, Lyric, Meter
from apoyando.model.time import Span
from builders import (
    change_bar,
    make_arrangement,
    make_barre,
    make_bars,
    make_form,
    make_harmony,
    make_line,
    make_note,
    make_span,
    small_arrangement,
)

SCHEMA = Path(__file__).parent.parent / "references" / "musicxml"


class LocalSchemas(etree.Resolver):  # type: ignore[misc]  # the library has no types
    """The two schemas that the W3C's imports by network address are stubs beside it."""

    def resolve(self, url: str, _: object, context: object) -> object:
        return self.resolve_filename(str(SCHEMA / Path(url).name), context)


@pytest.fixture(scope="module")
def schema() -> Any:
    parser = etree.XMLParser(no_network=True)
    parser.resolvers.add(LocalSchemas())
    return etree.XMLSchema(etree.parse(str(SCHEMA / "musicxml_4_0.xsd"), parser))


def written(arrangement: Arrangement) -> bytes:
    return write_musicxml(notate(arrangement))


def tree(arrangement: Arrangement) -> Any:
    return etree.fromstring(written(arrangement))


def texts(root: Any, path: str) -> list[str]:
    return [found.text or "" for found in root.iterfind(path)]


def rich_arrangement() -> Arrangement:
    """Something of everything: pickup, ties, tuplets, chords, form, changes, barres, words."""
    melody = (
        *make_line("melody", "G4:1 C5:3/2 B4:1/2 A4:1/3 G4:1/3 F#4:1/3 G4:3"),
        *make_line("melody", "r:1/2 A4:1/4 B4:1/4 C5:1 D5:2 F4:1 Bb4:1", start=7),
    )
    bass = make_line("bass", "r:1 C3:4 G2:3 C3:4")
    inner = make_line("inner", "r:1 r:1/2 E3:1/2 G3:1/2 E3:1/2 r:1 E3+G3:1 r:1/2 D3:1/2 B3:1/2 D3:1/2")
    bars = make_bars(3, "4/4", pickup=1, fifths=1)
    bars = change_bar(bars, 1, starts_repeat=True, section="A", jumps=(Jump.SEGNO,))
    bars = change_bar(bars, 2, repeat_times=2, endings=(1,), ending_stops=True)
    bars = change_bar(
        bars, 3, endings=(2,), ending_stops=True, jumps=(Jump.DAL_SEGNO,), key=Key(-1, Mode.MINOR)
    )
    first = replace(melody[0], lyrics=(Lyric(1, "Oh", "single"), Lyric(2, "La", "begin")))
    last = replace(melody[-1], has_fermata=True)
    return make_arrangement(
        (first, *melody[1:-1], last, *bass, *inner),
        bars,
        title="Tune & Tune <again>",
        composer="Traditional",
        lyricist="Somebody",
        rights="Public domain",
        tempo_words="Andante",
        dynamics=(
            Dynamic(Fraction(0), Loudness.MF, Layer.MELODY),
            Dynamic(Fraction(1), Loudness.P, Layer.ACCOMPANIMENT),
            Dynamic(Fraction(6), Loudness.SFZ),
        ),
        harmony=make_harmony("-:1 C:2 A.minor:1 -:1/2 D.dominant/F#:7/2 N.C.:4"),
        barres=(make_barre(3, 5, 1, 2), make_barre(5, 3, 2, 3)),
    )


# --- the schema --------------------------------------------------------------------------


def test_everything_written_is_valid_under_the_w3c_schema(schema: Any) -> None:
    capo = replace(rich_arrangement(), capo=3, tuning=DROP_D_TUNING)
    for arrangement in (small_arrangement(), rich_arrangement(), capo):
        schema.assertValid(tree(arrangement))


def test_the_file_says_what_it_is_and_nothing_that_changes_from_day_to_day() -> None:
    file = written(small_arrangement())
    assert file.startswith(b"<?xml version='1.0' encoding='UTF-8'?>\n<!DOCTYPE score-partwise PUBLIC")
    assert b'<score-partwise version="4.0">' in file
    assert b"encoding-date" not in file
    assert file == written(small_arrangement())


# --- head --------------------------------------------------------------------------------


def test_title_names_and_rights_are_kept() -> None:
    root = tree(replace(rich_arrangement(), arranger="A. Player"))
    assert texts(root, "work/work-title") == texts(root, "movement-title") == ["Tune & Tune <again>"]
    assert {c.get("type"): c.text for c in root.iterfind("identification/creator")} == {
        "composer": "Traditional",
        "lyricist": "Somebody",
        "arranger": "A. Player",
    }
    assert texts(root, "identification/rights") == ["Public domain"]
    assert texts(root, "identification/encoding/software")[0].startswith("apoyando ")


def test_names_that_are_not_known_are_left_out() -> None:
    assert tree(small_arrangement()).find("identification/creator") is None


def test_what_the_first_page_prints_round_the_music_is_a_credit_where_it_stands(schema: Any) -> None:
    """MusicXML 4.0, ``credit``: from the lower left corner of the page, with the standard types; a point is 1/72 inch."""
    arrangement = replace(rich_arrangement(), arranger="")
    root = etree.fromstring(engrave_musicxml(arrangement))
    schema.assertValid(root)
    words = {each.findtext("credit-type"): each.find("credit-words") for each in root.iterfind("credit")}
    assert {kind: each.text for kind, each in words.items()} == {
        "title": "Tune & Tune <again>",
        "lyricist": "Words: Somebody",
        "composer": "Traditional",
        "arranger": "arr. for guitar",
        "rights": "Public domain",
    }
    (page, *_) = make_pages(notate(arrangement), Sheet())
    drawn = {s.drawing.pieces[0].text: s.drawing for s in page.heading.shapes if isinstance(s.drawing, Text)}
    mm_per_tenth = float(root.findtext("defaults/scaling/millimeters")) / 40
    for element in words.values():
        text = drawn[element.text]
        x, y = (float(element.get(f"default-{axis}")) * mm_per_tenth for axis in "xy")
        assert (x, y) == pytest.approx((text.x / 100, 297 - text.y / 100), abs=0.1)
        assert float(element.get("font-size")) == pytest.approx(
            text.pieces[0].size / 100 / 25.4 * 72, abs=0.1
        )
        assert element.get("halign") == {"start": "left", "middle": "center", "end": "right"}[text.anchor]


def test_what_is_not_printed_is_no_credit() -> None:
    root = tree(replace(small_arrangement(), is_arranged=False))
    assert texts(root, "credit/credit-type") == ["title"]


def test_characters_that_xml_cannot_hold_are_left_out() -> None:
    assert texts(tree(replace(small_arrangement(), title="Tu\x00ne\x0b")), "work/work-title") == ["Tune"]


def test_it_is_one_part_for_nylon_guitar() -> None:
    """General MIDI Level 1 sound set: 25 is Acoustic Guitar (nylon), counted from 1."""
    root = tree(small_arrangement())
    assert len(root.findall("part")) == 1
    assert texts(root, "part-list/score-part/midi-instrument/midi-program") == ["25"]


def test_the_clef_carries_the_octave() -> None:
    clef = tree(small_arrangement()).find(".//clef")
    assert {child.tag: child.text for child in clef} == {"sign": "G", "line": "2", "clef-octave-change": "-1"}


def test_in_the_usual_tuning_without_capo_nothing_is_said_of_strings() -> None:
    """``staff-tuning`` is for tablature staves; readers take a staff that has it for one (seen in verovio 6.4.1)."""
    root = tree(small_arrangement())
    for tag in ("staff-details", "scordatura", "transpose"):
        assert root.find(f".//{tag}") is None


def test_another_tuning_is_told_string_by_string() -> None:
    root = tree(replace(small_arrangement(), tuning=DROP_D_TUNING))
    strings = [(s.get("line"), *tuning_of(s)) for s in root.iterfind(".//staff-tuning")]
    assert strings == [
        ("1", "D", "2"),
        ("2", "A", "2"),
        ("3", "D", "3"),
        ("4", "G", "3"),
        ("5", "B", "3"),
        ("6", "E", "4"),
    ]
    assert [(s.get("string"), *tuning_of(s)) for s in root.iterfind(".//scordatura/accord")] == [
        ("6", "D", "2")
    ]
    assert "⑥ = D" in texts(root, ".//words")


def tuning_of(strings: Any) -> tuple[str, str]:
    return strings.findtext("tuning-step"), strings.findtext("tuning-octave")


def test_a_capo_is_told_and_what_it_does_to_the_sound() -> None:
    root = tree(replace(small_arrangement(), capo=2))
    assert texts(root, ".//staff-details/capo") == ["2"]
    assert texts(root, ".//transpose/chromatic") == ["2"]
    assert "Capo II" in texts(root, ".//words")
    assert texts(root, ".//pitch/octave") == texts(tree(small_arrangement()), ".//pitch/octave")


# --- measures ----------------------------------------------------------------------------


def test_a_pickup_is_measure_0_and_implicit() -> None:
    measures = tree(rich_arrangement()).findall("part/measure")
    assert [(m.get("number"), m.get("implicit")) for m in measures] == [
        ("0", "yes"),
        ("1", None),
        ("2", None),
        ("3", None),
    ]


def test_the_last_half_of_a_bar_that_a_repeat_divides_is_implicit() -> None:
    """MusicXML 4.0, element measure, attribute implicit: pickups and the last half of mid-measure repeats."""
    whole, half, *rest = make_bars(4)
    halves = (
        replace(half, span=make_span(4, 3), repeat_times=2),
        *(
            replace(bar, span=make_span(onset, length))
            for bar, onset, length in zip(rest, (7, 8), (1, 4), strict=True)
        ),
    )
    root = tree(make_arrangement(make_line("melody", "E4:4 E4:3 E4:1 E4:4"), (whole, *halves)))
    assert [m.get("implicit") for m in root.iter("measure")] == [None, None, "yes", None]


def test_key_and_meter_are_written_where_they_change_and_only_there() -> None:
    bars = make_bars(4)
    bars = change_bar(bars, 2, key=Key(3), meter=Meter(2, 2, "cut"))
    bars = change_bar(bars, 3, key=Key(3), meter=Meter(2, 2, "cut"))
    measures = tree(make_arrangement(make_line("melody", "E4:16"), bars)).findall("part/measure")
    assert [texts(m, "attributes/key/fifths") for m in measures] == [["0"], [], ["3"], []]
    assert [t.get("symbol") for t in measures[2].iterfind("attributes/time")] == ["cut"]
    assert [texts(m, "attributes/time/beats") for m in measures] == [["4"], [], ["2"], []]


def barlines(arrangement: Arrangement) -> list[list[tuple[str | None, ...]]]:
    """Per measure: location, style, ending number and type, repeat direction and times."""
    return [
        [
            (
                barline.get("location"),
                barline.findtext("bar-style"),
                *((e.get("number"), e.get("type")) if (e := barline.find("ending")) is not None else ()),
                *((r.get("direction"), r.get("times")) if (r := barline.find("repeat")) is not None else ()),
            )
            for barline in measure.iterfind("barline")
        ]
        for measure in tree(arrangement).iterfind("part/measure")
    ]


def test_repeats_and_endings_are_barlines() -> None:
    assert barlines(rich_arrangement()) == [
        [],
        [("left", "heavy-light", "forward", None)],
        [("left", None, "1", "start"), ("right", "light-heavy", "1", "stop", "backward", None)],
        [("left", None, "2", "start"), ("right", "light-heavy", "2", "stop")],
    ]


def test_an_ending_over_several_bars_has_one_bracket_and_stays_open_where_the_music_goes_on() -> None:
    bars = make_bars(4)
    bars = change_bar(bars, 0, endings=(1, 2))
    bars = change_bar(bars, 1, endings=(1, 2), ending_stops=True, repeat_times=3)
    bars = change_bar(bars, 2, endings=(3,), ending_stops=True)
    assert barlines(make_arrangement(make_line("melody", "E4:16"), bars)) == [
        [("left", None, "1,2", "start")],
        [("right", "light-heavy", "1,2", "stop", "backward", "3")],
        [("left", None, "3", "start"), ("right", None, "3", "discontinue")],
        [("right", "light-heavy")],
    ]


def test_jumps_are_signs_and_words_and_sounds() -> None:
    bars = make_bars(4)
    bars = change_bar(bars, 0, jumps=(Jump.SEGNO,))
    bars = change_bar(bars, 1, jumps=(Jump.TO_CODA,))
    bars = change_bar(bars, 2, jumps=(Jump.DAL_SEGNO,))
    bars = change_bar(bars, 3, jumps=(Jump.CODA, Jump.FINE), jump_words="The End")
    root = tree(make_arrangement(make_line("melody", "E4:16"), bars))
    sounds = [(s.attrib, s.getparent().findtext(".//words")) for s in root.iterfind(".//sound")][1:]
    assert sounds == [
        ({"segno": "segno"}, None),
        ({"tocoda": "coda"}, "To Coda"),
        ({"dalsegno": "segno"}, "D.S. al Coda"),
        ({"coda": "coda"}, None),
        ({"fine": "yes"}, "The End"),
    ]
    assert root.find(".//segno") is not None
    assert root.find(".//coda") is not None
    assert [kind.getparent().findtext("words") for kind in root.iter("symbol") if kind.text == "coda"] == [
        "To Coda"
    ]


def test_a_da_capo_names_its_goal() -> None:
    bars = change_bar(make_bars(2), 1, jumps=(Jump.DA_CAPO,))
    tune = make_line("melody", "E4:8")
    assert "D.C." in texts(tree(make_arrangement(tune, bars)), ".//words")
    to_fine = change_bar(bars, 0, jumps=(Jump.FINE,))
    assert "D.C. al Fine" in texts(tree(make_arrangement(tune, to_fine)), ".//words")


def test_repeats_that_are_taken_after_a_da_capo_too_are_said_to_be() -> None:
    bars = change_bar(make_bars(2), 0, repeat_times=2, repeats_after_jump=True)
    root = tree(make_arrangement(make_line("melody", "E4:8"), change_bar(bars, 1, jumps=(Jump.DA_CAPO,))))
    assert [
        repeat.get("after-jump") for repeat in root.iter("repeat") if repeat.get("direction") == "backward"
    ] == ["yes"]
    assert "D.C. con rep." in texts(root, ".//words")


def test_a_section_is_a_rehearsal_mark() -> None:
    assert texts(tree(rich_arrangement()), ".//rehearsal") == ["A"]


@pytest.mark.parametrize(
    ("meter", "quarters", "unit", "dots", "per_minute"),
    [
        ("4/4", Fraction(96), "quarter", 0, "96"),
        ("6/8", Fraction(90), "quarter", 1, "60"),
        ("C|", Fraction(120), "half", 0, "60"),
        ("3/4", Fraction(125, 2), "quarter", 0, "62.5"),
        ("3/8", Fraction(60), "eighth", 0, "120"),
        ("6/16", Fraction(45), "eighth", 1, "60"),
    ],
)
def test_the_tempo_counts_the_pulse_and_sounds_in_quarters(
    meter: str, quarters: Fraction, unit: str, dots: int, per_minute: str
) -> None:
    bars = make_bars(1, meter)
    root = tree(make_arrangement(make_line("melody", "E4:1"), bars, tempo_quarters_per_minute=quarters))
    metronome = root.find(".//metronome")
    assert metronome.findtext("beat-unit") == unit
    assert len(metronome.findall("beat-unit-dot")) == dots
    assert metronome.findtext("per-minute") == per_minute
    assert Fraction(root.find(".//sound").get("tempo")) == quarters


def test_dynamics_tell_their_layer_and_how_loud_it_is() -> None:
    """W3C MusicXML 4.0: ``sound`` counts in percent of a velocity of 90; an accent has no loudness of its own."""
    directions = tree(rich_arrangement()).xpath(".//direction[direction-type/dynamics]")
    assert [
        (
            d.find("direction-type/dynamics")[0].tag,
            d.get("placement"),
            d.findtext("voice"),
            s.get("dynamics") if (s := d.find("sound")) is not None else None,
        )
        for d in directions
    ] == [("mf", "above", "1", "89"), ("p", "below", "2", "54"), ("sfz", "below", None, None)]


def test_a_syllable_that_is_sung_on_is_extended() -> None:
    lyrics = (Lyric(1, "Oh", is_held=True), Lyric(2, "me"))
    root = tree(make_arrangement([make_note("melody", 0, 1, "E4", lyrics=lyrics)]))
    assert [lyric.find("extend") is not None for lyric in root.iterfind(".//lyric")] == [True, False]


# --- notes -------------------------------------------------------------------------------


def test_every_note_tied_ones_too_says_where_it_is_played_and_only_the_struck_one_who_plucks() -> None:
    root = tree(make_arrangement([make_note("melody", 0, 5, "E4", string=2, finger=2, pluck="m")]))
    sounding = [n for n in root.iterfind(".//note") if n.find("pitch") is not None]
    place = {"fingering": "2", "string": "2", "fret": "5"}
    assert [{mark.tag: mark.text for mark in n.find("notations/technical")} for n in sounding] == [
        place | {"pluck": "m"},
        place,
    ]


def test_an_open_string_has_finger_0() -> None:
    assert texts(tree(make_arrangement([make_note("melody", 0, 4, "E4")])), ".//fingering") == ["0"]


def test_stems_go_up_for_the_melody_and_down_for_the_rest() -> None:
    for written_note in tree(rich_arrangement()).iterfind(".//note"):
        stem = written_note.findtext("stem")
        if stem:
            assert stem == ("up" if written_note.findtext("voice") == "1" else "down")


def test_hidden_rests_take_their_time_unprinted() -> None:
    root = tree(small_arrangement())
    rests = [n.get("print-object") for n in root.iterfind(".//note") if n.find("rest") is not None]
    assert rests
    assert set(rests) == {"no"}


def test_a_silent_bar_of_the_melody_is_a_measure_rest() -> None:
    root = tree(make_arrangement(make_line("bass", "C3:4")))
    rest = root.find(".//note[rest]")
    assert rest.find("rest").get("measure") == "yes"
    assert rest.find("type") is None


def test_a_triplet_is_marked_note_by_note_and_bracketed() -> None:
    root = tree(make_arrangement(make_line("melody", "E4:2/3 G4:1/3 E4:3")))
    notes = root.findall(".//note")
    assert [
        (n.findtext(".//actual-notes"), n.findtext(".//normal-notes"), n.findtext("type")) for n in notes
    ] == [
        ("3", "2", "quarter"),
        ("3", "2", "eighth"),
        (None, None, "quarter"),
        (None, None, "half"),
    ]
    assert [[t.get("type") for t in n.iterfind(".//tuplet")] for n in notes] == [["start"], ["stop"], [], []]


def test_beams_and_hooks() -> None:
    root = tree(make_arrangement(make_line("melody", "E4:3/4 G4:1/4 E4:1/4 E4:1/4 G4:1/2 E4:2")))
    assert [[b.text for b in n.iterfind("beam")] for n in root.iterfind(".//note")] == [
        ["begin"],
        ["end", "backward hook"],
        ["begin", "begin"],
        ["continue", "end"],
        ["end"],
        [],
    ]


def test_accidentals_hold_for_the_bar_in_all_voices_and_not_beyond() -> None:
    melody = make_line("melody", "F#4:1 F#4:1 F4:2 F#4:4")
    root = tree(make_arrangement((*melody, *make_line("inner", "r:3 F4:1"))))
    shown = [(n.findtext("voice"), n.findtext("accidental")) for n in root.iterfind(".//note[pitch]")]
    assert shown == [
        ("1", "sharp"),
        ("1", None),
        ("1", "natural"),
        ("2", None),
        ("1", "sharp"),
    ]


def test_each_note_of_a_rolled_chord_has_its_arpeggio_where_it_is_struck() -> None:
    """MusicXML 4.0, ``arpeggiate``: notes of one chord in several voices share a number."""
    chord = [
        replace(make_note(role, 0, 5, pitch), is_rolled=True)
        for role, pitch in (("melody", "E4"), ("bass", "C3"))
    ]
    rolls = [
        note.find("notations/arpeggiate") for note in tree(make_arrangement(chord)).findall(".//note[pitch]")
    ]
    assert [None if roll is None else roll.get("number") for roll in rolls] == ["1", "1", None, None]


def test_lyrics_stand_under_the_first_and_the_fermata_over_the_last_of_tied_notes() -> None:
    tune = make_note("melody", 0, 5, "E4", lyrics=(Lyric(1, "long", "single"),), has_fermata=True)
    first, last = tree(make_arrangement([tune])).findall(".//note[pitch]")
    assert (first.findtext("lyric/text"), last.find("lyric")) == ("long", None)
    assert (first.find(".//fermata"), last.find(".//fermata") is not None) == (None, True)


def test_notes_struck_together_are_a_chord_with_one_set_of_beams() -> None:
    root = tree(make_arrangement(make_line("inner", "E3+G3:1/2 E3+G3:1/2")))
    notes = root.findall(".//note[pitch]")
    assert [n.find("chord") is not None for n in notes] == [False, True, False, True]
    assert [len(n.findall("beam")) for n in notes] == [1, 0, 1, 0]


# --- chord symbols -----------------------------------------------------------------------


def harmonies(root: Any) -> list[tuple[Fraction, str, str]]:
    """Onset in quarters, root and bass, kind; N.C. and unprinted ends by their kind."""
    return [
        (
            onset,
            h.findtext("root/root-step")
            + (h.findtext("root/root-alter") or "")
            + "/"
            + (h.findtext("bass/bass-step") or ""),
            h.findtext("kind") + (" unprinted" if h.get("print-object") == "no" else ""),
        )
        for onset, h in placed(root, "harmony")
    ]


def placed(root: Any, tag: str) -> Iterator[tuple[Fraction, Any]]:
    """Elements with their place in time: the cursor of the file plus the offset."""
    divisions = int(root.findtext(".//divisions"))
    start = Fraction(0)
    for measure in root.iterfind("part/measure"):
        cursor, longest = 0, 0
        for item in measure:
            if item.tag == tag:
                yield start + Fraction(cursor + int(item.findtext("offset") or 0), divisions), item
            step = int(item.findtext("duration") or 0)
            if item.tag == "backup":
                cursor -= step
            elif item.find("chord") is None:
                cursor += step
            longest = max(longest, cursor)
        start += Fraction(longest, divisions)


def test_each_chord_stands_once_at_its_exact_place() -> None:
    assert harmonies(tree(rich_arrangement())) == [
        (1, "C/", "major"),
        (3, "A/", "minor"),
        (4, "C/", "none unprinted"),
        (Fraction(9, 2), "D/F", "dominant"),
        (8, "C/", "none"),
    ]


def test_no_chord_shows_its_letters_and_no_root() -> None:
    root = tree(make_arrangement(make_line("melody", "E4:4"), harmony=make_harmony("N.C.:4")))
    assert root.find(".//root-step").get("text") == ""
    assert root.find(".//kind").get("text") == "N.C."


def test_degrees_and_alterations_are_written() -> None:
    chord = Chord(
        root=PitchName(Step.B, -1),
        kind="dominant",
        degrees=(Degree(9, -1, DegreeChange.ADD),),
        bass=PitchName(Step.A, -1),
    )
    span = HarmonySpan(Span(Fraction(0), Fraction(4)), chord)
    found = tree(make_arrangement(make_line("melody", "E4:4"), harmony=(span,))).find(".//harmony")
    assert (found.findtext("root/root-alter"), found.findtext("bass/bass-alter")) == ("-1", "-1")
    assert [child.text for child in found.find("degree")] == ["9", "-1", "add"]


@pytest.mark.parametrize("kind", KIND_DEGREES)
def test_every_kind_is_one_of_the_standard_and_read_by_music21(kind: str, schema: Any) -> None:
    span = HarmonySpan(Span(Fraction(0), Fraction(4)), Chord(root=PitchName(Step.D), kind=kind))
    arrangement = make_arrangement(make_line("melody", "E4:4"), harmony=(span,))
    schema.assertValid(tree(arrangement))
    symbols = list(converter.parseData(written(arrangement), format="musicxml")[harmony.ChordSymbol])
    assert [symbol.root().name for symbol in symbols] == ["D"]


# --- parts and guide fingers ---------------------------------------------------------------


def parts_named(arrangement: Arrangement) -> list[tuple[str, str, str | None]]:
    """Voice, part and whether it is printed, for each note of which a part is named."""
    return [
        (note.findtext("voice"), other.text, other.get("print-object"))
        for note in tree(arrangement).iter("note")
        for other in note.iterfind("notations/other-notation")
    ]


def test_where_bass_and_inner_voice_share_a_voice_each_note_says_its_part() -> None:
    """MusicXML 4.0, ``other-notation``: notations not yet in the format; ``print-object`` no."""
    tune = make_line("melody", "E4:4")
    shared = (*tune, *make_line("bass", "A2:2"), *make_line("inner", "r:2 E3:2"))
    assert parts_named(make_arrangement(shared)) == [("2", "bass", "no"), ("2", "inner", "no")]
    apart = (*tune, *make_line("bass", "A2:4"), *make_line("inner", "r:2 E3:2"))
    assert parts_named(make_arrangement(apart)) == []


def test_a_voice_that_is_not_the_one_of_its_part_says_so() -> None:
    alone = make_arrangement((*make_line("melody", "E4:4"), *make_line("inner", "A3:4")))
    assert parts_named(alone) == [("2", "inner", "no")]


def test_the_note_to_which_a_finger_is_guided_says_so_and_nothing_slides(schema: Any) -> None:
    notes = (
        make_note("melody", 0, 2, "G4", finger=3, string=1),
        make_note("melody", 2, 2, "B4", finger=3, string=1),
    )
    root = tree(make_arrangement(notes))
    guided = [note.findtext("notations/technical/other-technical") for note in root.iter("note")]
    assert guided == [None, "guide finger"]
    assert not [*root.iter("slide"), *root.iter("glissando")]
    schema.assertValid(root)


# --- barres ------------------------------------------------------------------------------


def test_a_barre_is_words_and_a_bracket_over_its_exact_time() -> None:
    brackets: list[Any] = [
        (onset, d.findtext(".//words"), b.get("type"), b.get("number"))
        for onset, d in placed(tree(rich_arrangement()), "direction")
        if (b := d.find(".//bracket")) is not None
    ]
    assert brackets == [
        (1, "C III", "start", "1"),
        (2, "½C V", "start", "2"),
        (3, None, "stop", "1"),
        (5, None, "stop", "2"),
    ]


def test_a_barre_up_to_the_barline_ends_in_the_bar_that_it_closes() -> None:
    tune = make_line("melody", "A4:8")
    root = tree(make_arrangement(tune, barres=(make_barre(5, 6, 0, 4), make_barre(7, 6, 4, 9))))
    measures = root.findall("part/measure")
    types = [[b.get("type") for b in measure.iterfind(".//bracket")] for measure in measures]
    assert types == [["start", "stop"], ["start", "stop"]], "the second is cut off at the end of the piece"


# --- hold lines ----------------------------------------------------------------------------


def with_hold_lines() -> Any:
    """A bass under two notes of the tune, over a barline, and an inner note under none."""
    notes = (
        *make_line("melody", "E4:3 G4:3"),
        make_note("bass", 0, 6, "A2"),
        make_note("inner", 0, 3, "C4"),
    )
    arrangement = make_arrangement(notes, make_bars(2, "3/4"), barres=(make_barre(1, 2, 0, 1),))
    return etree.fromstring(write_musicxml(notate_whole(Sheet(hold_lines=True), arrangement)))


def test_a_hold_line_is_a_solid_bracket_at_the_height_of_its_head_closed_to_both_sides(schema: Any) -> None:
    """MusicXML 4.0: a space of the staff is ten tenths, and ``default-y`` counts from the top line.

    A2 is written on the second ledger line under the staff, A3, twelve steps below the top line; the
    line lies a quarter of a space below, where it is seen.
    """
    root = with_hold_lines()
    schema.assertValid(root)
    lines: list[Any] = [
        (onset, b.get("type"), b.get("line-end"), b.get("default-y"), d.findtext("voice"), d.find(".//words"))
        for onset, d in placed(root, "direction")
        if (b := d.find(".//bracket")) is not None and b.get("line-type") == "solid"
    ]
    assert lines == [
        (0, "start", "none", "-62.5", "2", None),
        (6, "stop", "both", "-62.5", "2", None),
    ]


def test_brackets_that_last_at_once_have_numbers_of_their_own() -> None:
    brackets = [
        (b.get("type"), b.get("number"), b.get("line-type")) for b in with_hold_lines().iter("bracket")
    ]
    assert brackets == [
        ("start", "1", "dashed"),
        ("start", "2", "solid"),
        ("stop", "1", "dashed"),
        ("stop", "2", "solid"),
    ]


# --- rings -----------------------------------------------------------------------------------


def test_the_file_of_the_holds_says_what_rings_until_when_and_what_the_hand_ends(schema: Any) -> None:
    """MusicXML 4.0: ``tied`` of type let-ring for what is not damped, ``release`` in divisions after its end."""
    ringing, cut, plain = (make_note("bass", onset, 1, "A2") for onset in (0, 4, 8))
    rings = [
        make_ring(ringing, 3, Ending.HARMONY_CHANGES, 3),
        make_ring(cut, 5, Ending.STRING_STRUCK, 8),
        make_ring(plain, 9, Ending.HARMONY_CHANGES, 9),
    ]
    arrangement = make_arrangement((ringing, cut, plain), make_bars(3))
    root = etree.fromstring(engrave_musicxml(arrangement, Sheet(), Variant.HOLDS, rings))
    schema.assertValid(root)
    divisions = int(root.findtext(".//divisions"))
    told: list[Any] = [
        (
            n.get("release") and Fraction(int(n.get("release")), divisions),
            [tied.get("type") for tied in n.iterfind("notations/tied")],
            n.findtext("notations/technical/other-technical"),
        )
        for n in root.iterfind(".//note[pitch]")
    ]
    assert told == [(2, ["let-ring"], None), (None, [], "let go"), (None, [], None)]


def test_a_ring_belongs_to_the_last_of_tied_heads() -> None:
    """MusicXML 4.0: a note that starts a tie should not have a release."""
    long = make_note("bass", 0, 5, "A2")
    rings = [make_ring(long, 8, Ending.HARMONY_CHANGES, 8)]
    root = etree.fromstring(
        engrave_musicxml(make_arrangement([long], make_bars(2)), Sheet(), Variant.HOLDS, rings)
    )
    heads = root.findall(".//note[pitch]")
    assert [n.get("release") is not None for n in heads] == [False, True]
    assert [[tied.get("type") for tied in n.iterfind(".//tied")] for n in heads] == [
        ["start"],
        ["stop", "let-ring"],
    ]


def test_other_files_say_nothing_of_rings() -> None:
    note = make_note("bass", 0, 1, "A2")
    rings = [make_ring(note, 3, Ending.HARMONY_CHANGES, 3)]
    for variant in (Variant.SCORE, Variant.ACCOMPANIMENT):
        assert b"let-ring" not in engrave_musicxml(make_arrangement([note]), Sheet(), variant, rings)


def make_ring(note: Note, until: int, ending: Ending, wanted_until: int) -> Ring:
    return Ring(
        note=note,
        until=Fraction(until),
        wanted_until=Fraction(wanted_until),
        ending=ending,
        sentence="",
    )


# --- tablature -------------------------------------------------------------------------------


def with_staves(arrangement: Arrangement, staves: Staves) -> Any:
    return etree.fromstring(write_musicxml(notate_whole(Sheet(staves=staves), arrangement)))


@pytest.mark.parametrize("staves", Staves)
@pytest.mark.parametrize("make", [small_arrangement, rich_arrangement])
def test_with_tablature_it_is_valid_too(schema: Any, make: Any, staves: Staves) -> None:
    schema.assertValid(with_staves(make(), staves))
    schema.assertValid(with_staves(replace(make(), capo=2, tuning=DROP_D_TUNING), staves))


@pytest.mark.parametrize(
    ("staves", "clefs"),
    [
        (Staves.NOTATION, [(None, "G")]),
        (Staves.TABLATURE, [(None, "TAB")]),
        (Staves.NOTATION_AND_TABLATURE, [("1", "G"), ("2", "TAB")]),
    ],
)
def test_the_file_has_the_staves_of_the_page(staves: Staves, clefs: list[tuple[str | None, str]]) -> None:
    """MusicXML 4.0: ``TAB`` is a clef, and a staff of tablature has six lines that are tuned, from the bottom."""
    root = with_staves(small_arrangement(), staves)
    assert [(c.get("number"), c.findtext("sign")) for c in root.iterfind(".//clef")] == clefs
    open_strings = [(t.get("line"), *tuning_of(t)) for t in root.iterfind(".//staff-tuning")]
    standard = [
        ("1", "E", "2"),
        ("2", "A", "2"),
        ("3", "D", "3"),
        ("4", "G", "3"),
        ("5", "B", "3"),
        ("6", "E", "4"),
    ]
    assert open_strings == ([] if staves is Staves.NOTATION else standard)


def test_under_the_notation_each_head_has_its_number_and_no_stem() -> None:
    arrangement = rich_arrangement()
    root = with_staves(arrangement, Staves.NOTATION_AND_TABLATURE)
    played = [n for n in root.iterfind(".//note") if n.find("pitch") is not None]
    upper, lower = ([n for n in played if n.findtext("staff") == staff] for staff in ("1", "2"))
    assert len(upper) + len(lower) == len(played)

    def numbers(heads: list[Any]) -> list[tuple[str, str, str]]:
        return sorted((n.findtext(".//string"), n.findtext(".//fret"), n.findtext("duration")) for n in heads)

    assert numbers(lower) == numbers(upper)
    assert {n.findtext("stem") for n in lower} == {"none"}


def test_verovio_reads_notation_over_tablature() -> None:
    root = with_staves(small_arrangement(), Staves.NOTATION_AND_TABLATURE)
    toolkit = verovio.toolkit()
    assert toolkit.loadData(etree.tostring(root).decode())
    assert toolkit.getMEI().count("<staffDef ") == 2


# --- systems and pages -----------------------------------------------------------------------


def test_the_file_breaks_systems_and_pages_where_the_page_does(schema: Any) -> None:
    """MusicXML 4.0, ``print``; a new page begins a new system too. The page is read from its drawing."""
    arrangement = make_arrangement(make_line("melody", "E4:1/2 " * 8 * 120), make_bars(120))
    file = engrave_musicxml(arrangement, Sheet(staff_mm=8.0, paper=Paper.LETTER))
    root = etree.fromstring(file)
    schema.assertValid(root)
    breaks = [
        (int(measure.get("number")), "new-page" if each.get("new-page") == "yes" else "new-system")
        for measure in root.iterfind("part/measure")
        for each in measure.xpath("print[@new-page or @new-system]")
    ]
    pages = make_pages(notate(arrangement), Sheet(staff_mm=8.0, paper=Paper.LETTER))
    starts = [line.bars.start + 1 for page in pages for _, line in page.lines]
    assert len(pages) > 1
    assert [number for number, _ in breaks] == starts[1:]
    first_of_pages = [page.lines[0][1].bars.start + 1 for page in pages[1:]]
    assert [number for number, kind in breaks if kind == "new-page"] == first_of_pages


def test_the_file_has_the_paper_the_margins_and_the_size_of_the_staff() -> None:
    """US Letter is 215.9 mm wide (ANSI/ASME Y14.1); forty tenths are a staff."""
    sheet = Sheet(staff_mm=8.0, paper=Paper.LETTER, margin_mm=20.0)
    root = etree.fromstring(engrave_musicxml(small_arrangement(), sheet))
    mm_per_tenth = float(root.findtext("defaults/scaling/millimeters")) / float(
        root.findtext("defaults/scaling/tenths")
    )
    sizes = [
        float(root.findtext(f"defaults/page-layout/{tag}")) * mm_per_tenth
        for tag in ("page-width", "page-height", "page-margins/left-margin")
    ]
    assert sizes == pytest.approx([215.9, 279.4, 20.0], abs=0.1)


def test_both_at_once_are_the_same_as_each() -> None:
    arrangement = small_arrangement()
    assert engrave_both(arrangement) == (engrave_pdf(arrangement), engrave_musicxml(arrangement))


# --- read by music21 ---------------------------------------------------------------------


def read_by_music21(arrangement: Arrangement) -> Any:
    return converter.parseData(written(arrangement), format="musicxml")


def test_music21_reads_the_same_notes_places_and_fingers() -> None:
    arrangement = rich_arrangement()
    score = read_by_music21(arrangement).stripTies()
    read = {
        (Fraction(n.getOffsetInHierarchy(score)), p.midi, Fraction(n.quarterLength))
        for n in score.recurse().notes
        if not isinstance(n, harmony.ChordSymbol)
        for p in n.pitches
    }
    assert read == {(n.onset, n.pitch.midi, n.duration) for n in arrangement.notes}


def test_music21_reads_the_same_notes_where_there_are_hold_lines() -> None:
    arrangement = rich_arrangement()
    file = write_musicxml(notate_whole(Sheet(hold_lines=True), arrangement))
    assert b'line-type="solid"' in file
    plain, lined = (converter.parseData(each, format="musicxml") for each in (written(arrangement), file))
    assert [(n.offset, n.pitches, n.quarterLength) for n in lined.recurse().notes] == [
        (n.offset, n.pitches, n.quarterLength) for n in plain.recurse().notes
    ]


def test_music21_reads_string_fret_and_finger_of_single_notes() -> None:
    arrangement = small_arrangement()
    score = read_by_music21(arrangement)
    read = {
        (
            Fraction(n.getOffsetInHierarchy(score)),
            n.pitch.nameWithOctave.replace("-", "b"),
            *(
                int(next(a for a in n.articulations if a.name == name).number)
                for name in ("string indication", "fret indication")
            ),
            int(next(a for a in n.articulations if a.name == "fingering").fingerNumber),
        )
        for n in score[note.Note]
    }
    assert read == {
        (n.onset, str(n.pitch), n.place.string, n.place.fret, int(n.finger)) for n in arrangement.notes
    }


def test_music21_finds_melody_bass_and_inner_voice_apart() -> None:
    measure = next(iter(read_by_music21(small_arrangement()).recurse().getElementsByClass("Measure")))
    assert [(v.id, len(list(v.notes))) for v in measure.voices] == [("1", 3), ("2", 2), ("3", 5)]


def test_music21_places_chord_symbols_where_they_belong() -> None:
    score = read_by_music21(rich_arrangement())
    read = [
        (
            Fraction(symbol.getOffsetInHierarchy(score)),
            "N.C." if isinstance(symbol, harmony.NoChord) else symbol.root().name,
        )
        for symbol in score[harmony.ChordSymbol]
    ]
    assert read == [(1, "C"), (3, "A"), (4, "N.C."), (Fraction(9, 2), "D"), (8, "N.C.")]


def test_music21_reads_tempo_and_form() -> None:
    score = read_by_music21(rich_arrangement())
    assert [mark.getQuarterBPM() for mark in score[tempo.MetronomeMark]] == [96]
    assert [type(mark).__name__ for mark in score[repeat.RepeatExpression]] == ["Segno", "DalSegno"]


@pytest.mark.parametrize(
    "text",
    [
        ": A | B :",
        "A | : B | C : | D",
        "A | B : | C",
        ": A | B x3 :",
        ": A : | : B :",
        ": A | B [1 : | C [2",
        ": A | B [1,2 x3 : | C [3 | D",
        ": A | B [1 : | C [2 : | D [3",
        ": A | B [1 : | C [2 | : D | E [1 : | F [2",
        "A | B Fine | C | D DC",
        "A | B S | C Fine | D DS",
        "A | B To | C DC | D O | E",
        "A | B S | C To | D DS | E O",
        ": A : | B Fine | C DC",
    ],
)
def test_music21_plays_the_written_form_in_our_order(text: str) -> None:
    """Its ``expandRepeats`` is a reading of repeats independent of ours, and of the signs we write."""
    bars, pitches = make_form(text), ("C4", "D4", "E4", "F4", "G4", "A4")
    tune = make_line("melody", " ".join(f"{pitch}:4" for pitch in pitches[: len(bars)]))
    expanded = read_by_music21(make_arrangement(tune, bars)).parts[0].expandRepeats()
    heard = [pitches.index(n.pitch.nameWithOctave) for n in expanded[note.Note]]
    assert heard == list(play_order(bars))


# --- read by verovio -----------------------------------------------------------------------


def test_verovio_reads_every_head_and_the_hold_lines() -> None:
    """An engraver of its own, which reads MusicXML into MEI; a line from a start to a stop is a ``bracketSpan``."""
    file = write_musicxml(notate_whole(Sheet(hold_lines=True, chord_diagrams=True), rich_arrangement()))
    toolkit = verovio.toolkit()
    assert toolkit.loadData(file.decode())
    mei = toolkit.getMEI()
    assert mei.count("<note ") == len(etree.fromstring(file).findall(".//note[pitch]"))
    assert mei.count("<bracketSpan ") > 1


# --- read by a naive reader --------------------------------------------------------------

TYPES = (
    "1024th",
    "512th",
    "256th",
    "128th",
    "64th",
    "32nd",
    "16th",
    "eighth",
    "quarter",
    "half",
    "whole",
    "breve",
)
OPEN_STRINGS = {1: 64, 2: 59, 3: 55, 4: 50, 5: 45, 6: 40}
SEMITONES = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}


@dataclass(frozen=True)
class Head:
    """One note head as the file has it."""

    voice: int
    onset: Fraction
    duration: Fraction
    midi: int
    string: int
    fret: int
    finger: int
    ties: frozenset[str]


def check_and_read(file: bytes) -> list[Head]:
    """Every bar full in every voice, every sign as long as its time, every pair closed."""
    root = etree.fromstring(file)
    divisions = int(root.findtext(".//divisions"))
    heads: list[Head] = []
    bar_start = Fraction(0)
    for measure in root.iterfind("part/measure"):
        now = Fraction(0)
        filled: dict[int, Fraction] = defaultdict(Fraction)
        tuplets_open: dict[int, bool] = defaultdict(bool)
        beams_open: dict[tuple[int, str], bool] = defaultdict(bool)
        for item in measure.iterfind("*"):
            if item.tag == "backup":
                now -= Fraction(int(item.findtext("duration")), divisions)
                assert now == 0
            if item.tag != "note":
                continue
            voice = int(item.findtext("voice"))
            duration = Fraction(int(item.findtext("duration")), divisions)
            if item.find("chord") is None:
                onset, now = now, now + duration
                assert filled[voice] == onset, "a voice goes on where it stopped"
                filled[voice] += duration
                check_sign(item, duration)
                check_pairs(item, voice, tuplets_open, beams_open)
            if item.find("pitch") is not None:
                heads.append(read_head(item, voice, bar_start + onset, duration))
        assert len(set(filled.values())) == 1, "every voice fills the bar"
        assert not any(tuplets_open.values())
        assert not any(beams_open.values())
        bar_start += now
    return heads


def check_sign(item: Any, duration: Fraction) -> None:
    kind = item.findtext("type")
    if kind is None:
        assert item.find("rest").get("measure") == "yes"
        return
    value = Fraction(4, 1024) * 2 ** TYPES.index(kind)
    length = value + sum(value / 2 ** (dot + 1) for dot in range(len(item.findall("dot"))))
    tuplet = item.find("time-modification")
    if tuplet is not None:
        length = length * int(tuplet.findtext("normal-notes")) / int(tuplet.findtext("actual-notes"))
    assert length == duration


def check_pairs(
    item: Any, voice: int, tuplets_open: dict[int, bool], beams_open: dict[tuple[int, str], bool]
) -> None:
    for mark in item.iterfind(".//tuplet"):
        assert tuplets_open[voice] == (mark.get("type") == "stop")
        tuplets_open[voice] = mark.get("type") == "start"
    for beam in item.iterfind("beam"):
        key = (voice, beam.get("number"))
        if beam.text in {"begin", "continue", "end"}:
            assert beams_open[key] == (beam.text != "begin")
            beams_open[key] = beam.text != "end"


def read_head(item: Any, voice: int, onset: Fraction, duration: Fraction) -> Head:
    midi = 12 * (int(item.findtext("pitch/octave")) + 1) + SEMITONES[item.findtext("pitch/step")]
    midi += int(item.findtext("pitch/alter") or 0)
    string, fret = int(item.findtext(".//string")), int(item.findtext(".//fret"))
    assert OPEN_STRINGS[string] + fret == midi
    ties = frozenset(tie.get("type") for tie in item.iterfind("tie"))
    assert ties == frozenset(tied.get("type") for tied in item.iterfind("notations/tied"))
    return Head(voice, onset, duration, midi, string, fret, int(item.findtext(".//fingering")), ties)


def untied(heads: list[Head]) -> list[tuple[int, Fraction, Fraction, int, int, int, int]]:
    """Tied heads joined by voice, pitch and string."""
    joined = []
    held: dict[tuple[int, int, int], Fraction] = {}
    for head in sorted(heads, key=lambda h: h.onset):
        key = (head.voice, head.midi, head.string)
        onset = held.pop(key) if "stop" in head.ties else head.onset
        if "start" in head.ties:
            held[key] = onset
        else:
            end = head.onset + head.duration
            joined.append((head.voice, onset, end, head.midi, head.string, head.fret, head.finger))
    assert not held
    return joined


def expected(arrangement: Arrangement) -> list[tuple[Fraction, Fraction, int, int, int, int]]:
    return sorted(
        (n.onset, n.offset, n.pitch.midi, n.place.string, n.place.fret, int(n.finger))
        for n in arrangement.notes
    )


@pytest.mark.parametrize("make", [small_arrangement, rich_arrangement])
def test_a_naive_reader_finds_every_note_again(make: Any) -> None:
    arrangement = make()
    found = untied(check_and_read(written(arrangement)))
    assert sorted(note[1:] for note in found) == expected(arrangement)
    melody = sorted(note[1:] for note in found if note[0] == 1)
    assert melody == expected(replace(arrangement, notes=arrangement.voice(Role.MELODY)))


lengths = st.sampled_from([Fraction(n, d) for d in (1, 2, 3, 4, 6) for n in (1, 2, 3, 5)])
words = st.tuples(st.sampled_from(["E4", "G4", "F#4", "Bb4", "r", "C5"]), lengths)
low_words = st.tuples(st.sampled_from(["E2", "r", "C3", "A2", "D3"]), lengths)
middle_words = st.tuples(st.sampled_from(["E3", "r", "G3+B3", "F#3"]), lengths)


def line_text(drawn: list[tuple[str, Fraction]]) -> str:
    return " ".join(f"{name}:{length}" for name, length in drawn)


@settings(deadline=None, max_examples=60)
@given(
    st.sampled_from(["4/4", "3/4", "6/8", "C|", "2/4", "9/8"]),
    st.sampled_from([0, 1, Fraction(1, 2)]),
    st.lists(words, max_size=10),
    st.lists(low_words, max_size=8),
    st.lists(middle_words, max_size=10),
)
def test_any_three_lines_are_valid_and_found_again(
    schema: Any,
    meter: str,
    pickup: Fraction,
    melody: list[tuple[str, Fraction]],
    bass: list[tuple[str, Fraction]],
    inner: list[tuple[str, Fraction]],
) -> None:
    notes = (
        *make_line("melody", line_text(melody)),
        *make_line("bass", line_text(bass)),
        *make_line("inner", line_text(inner)),
    )
    arrangement = make_arrangement(notes, make_bars(40, meter, pickup=pickup))
    file = written(arrangement)
    schema.assertValid(etree.parse(io.BytesIO(file)))
    assert sorted(note[1:] for note in untied(check_and_read(file))) == expected(arrangement)


def test_absurd_lengths_still_make_a_valid_file_with_full_bars(schema: Any) -> None:
    tune = make_line("melody", "E4:1/1009 G4:1008/1009 E4:1/997 G4:2989/997")
    root = tree(make_arrangement(tune))
    schema.assertValid(root)
    assert sum(int(n.findtext("duration")) for n in root.iterfind(".//note")) == 4 * int(
        root.findtext(".//divisions")
    )
