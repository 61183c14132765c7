"""The MEI that the layout program gets.

Source of names and values: MEI Guidelines 5.0, modules ``shared`` and ``cmn``
(https://music-encoding.org/guidelines/v5/), from memory.
"""

from dataclasses import replace
from fractions import Fraction
from typing import Any
from xml.etree.ElementTree import Element, fromstring

import pytest

from apoyando.engraving.notation.score import notate
from apoyando.engraving.staff.mei import write_mei
from apoyando.model.arrangement import Arrangement
from apoyando.model.pitch import Key
from apoyando.model.song import Barline, Meter
from builders import (
    change_bar,
    make_arrangement,
    make_bars,
    make_harmony,
    make_line,
    make_note,
    small_arrangement,
)

NS = "{http://www.music-encoding.org/ns/mei}"
XML_ID = "{http://www.w3.org/XML/1998/namespace}id"


def mei_of(arrangement: Arrangement, system_starts: tuple[int, ...] = ()) -> Element:
    return fromstring(write_mei(notate(arrangement)).broken(system_starts))  # noqa: S314 - written by us


def found(root: Element, name: str) -> list[Element]:
    return list(root.iter(NS + name))


def melody_of(text: str, **more: Any) -> Element:
    return mei_of(make_arrangement(make_line("melody", text), **more))


def test_pitches_are_as_they_sound_under_an_octave_treble_clef() -> None:
    root = melody_of("E4:4")
    clef = found(root, "clef")[0]
    assert [clef.get(name) for name in ("shape", "line", "dis", "dis.place")] == ["G", "2", "8", "below"]
    assert [(note.get("pname"), note.get("oct")) for note in found(root, "note")] == [("e", "4")]


def test_notes_keep_the_ids_of_the_notated_score() -> None:
    ids = [note.get(XML_ID) for note in found(melody_of("E4:2 G4:2"), "note")]
    assert ids == ["m0v1e0n0", "m0v1e1n0"]


def test_the_melody_has_stems_up_and_the_accompaniment_stems_down() -> None:
    root = mei_of(small_arrangement())
    stems = {
        layer.get("n"): {n.get("stem.dir") for n in found(layer, "note")} for layer in found(root, "layer")
    }
    assert stems.pop("1") == {"up"}
    assert stems
    assert all(directions == {"down"} for directions in stems.values())


@pytest.mark.parametrize(
    ("length", "expected"),
    [("4", ("1", None)), ("3", ("2", "1")), ("1", ("4", None)), ("1/2", ("8", None)), ("1/4", ("16", None))],
)
def test_lengths_are_written_as_values_and_dots(length: str, expected: tuple[str, str | None]) -> None:
    note = found(melody_of(f"E4:{length}"), "note")[0]
    assert (note.get("dur"), note.get("dots")) == expected


def test_hidden_rests_only_take_time() -> None:
    root = mei_of(small_arrangement())
    assert found(root, "rest") == []
    assert found(root, "space")


def test_a_rest_of_the_melody_lies_above_what_sounds_under_it() -> None:
    """``loc`` counts from the bottom line: 4 is the middle line. C4 stands on 5."""
    alone = melody_of("r:1 E4:3")
    assert [rest.get("loc") for rest in found(alone, "rest")] == ["4"]
    notes = (*make_line("melody", "r:1 E4:3"), make_note("inner", 0, 1, "C4"))
    assert [rest.get("loc") for rest in found(mei_of(make_arrangement(notes)), "rest")] == ["10"]


def test_a_whole_bar_of_rest_hangs_in_the_middle() -> None:
    assert len(found(melody_of("r:4 E4:4"), "mRest")) == 1


def test_eighths_are_beamed_as_notated() -> None:
    beams = found(melody_of("E4:1/2 F4:1/2 G4:1/2 A4:1/2 B4:2"), "beam")
    assert [len(found(beam, "note")) for beam in beams] == [4]


def test_a_triplet_under_one_beam_shows_its_number_and_no_bracket() -> None:
    tuplet = found(melody_of("E4:1/3 F4:1/3 G4:1/3 A4:3"), "tuplet")[0]
    assert (tuplet.get("num"), tuplet.get("numbase")) == ("3", "2")
    assert (tuplet.get("num.place"), tuplet.get("bracket.visible")) == ("above", "false")


def test_a_triplet_without_a_common_beam_shows_a_bracket_above() -> None:
    tuplet = found(melody_of("E4:2/3 F4:1/3 A4:3"), "tuplet")[0]
    assert (tuplet.get("bracket.visible"), tuplet.get("bracket.place")) == ("true", "above")


def test_a_note_over_the_barline_is_tied() -> None:
    root = melody_of("r:2 E4:4 F4:2")
    ties = [(tie.get("startid"), tie.get("endid"), tie.get("curvedir")) for tie in found(root, "tie")]
    assert ties == [("#m0v1e1n0", "#m1v1e0n0", "above")]


def test_notes_struck_together_are_a_chord_under_one_stem() -> None:
    root = mei_of(make_arrangement((*make_line("melody", "E4:4"), *make_line("inner", "C3+G3:4"))))
    assert [len(found(chord, "note")) for chord in found(root, "chord")] == [2]


def test_an_accidental_is_written_where_it_is_printed_and_nowhere_else() -> None:
    notes = found(melody_of("F#4:1 F#4:1 F4:2"), "note")
    assert [note.get("accid") for note in notes] == ["s", None, "n"]


def test_barlines_and_repeats() -> None:
    bars = make_bars(4)
    bars = change_bar(bars, 0, starts_repeat=True)
    bars = change_bar(bars, 1, repeat_times=2)
    bars = change_bar(bars, 2, barline=Barline.DOUBLE)
    root = mei_of(make_arrangement(make_line("melody", "E4:16"), bars))
    lines = [(m.get("left"), m.get("right")) for m in found(root, "measure")]
    assert lines == [("rptstart", "single"), (None, "rptend"), (None, "dbl"), (None, "end")]


def test_the_piece_ends_with_a_final_barline_even_where_the_source_forgot_it() -> None:
    bars = change_bar(make_bars(2), 1, barline=Barline.REGULAR)
    root = mei_of(make_arrangement(make_line("melody", "E4:8"), bars))
    assert [measure.get("right") for measure in found(root, "measure")] == ["single", "end"]


def test_a_pickup_does_not_count_as_a_full_bar() -> None:
    root = mei_of(make_arrangement(make_line("melody", "G4:1 C5:4"), make_bars(1, pickup=1)))
    assert [measure.get("metcon") for measure in found(root, "measure")] == ["false", None]


def test_key_and_meter_are_given_at_the_start_and_where_they_change() -> None:
    bars = change_bar(make_bars(3, fifths=-2), 1, meter=Meter(2, 2, "cut"))
    bars = change_bar(bars, 2, key=Key(1), meter=Meter(2, 2, "cut"))
    root = mei_of(make_arrangement(make_line("melody", "D4:12"), bars))
    names = ("keysig", "meter.count", "meter.unit", "meter.sym")
    definitions = [tuple(d.get(name) for name in names) for d in found(root, "scoreDef")]
    assert definitions == [("2f", "4", "4", None), (None, "2", "2", "cut"), ("1s", None, None, None)]


def test_one_roll_stands_before_all_notes_of_a_rolled_chord_in_whatever_voice() -> None:
    chord = [
        replace(make_note(role, 0, 5, pitch), is_rolled=True)
        for role, pitch in (("melody", "E4"), ("inner", "G3"), ("bass", "C3"))
    ]
    rolls = found(mei_of(make_arrangement(chord)), "arpeg")
    assert [len((roll.get("plist") or "").split()) for roll in rolls] == [3], "none where it is tied on"
    assert found(mei_of(make_arrangement([replace(n, is_rolled=False) for n in chord])), "arpeg") == []


def test_a_fermata_stands_over_the_last_head_of_its_note() -> None:
    held = replace(make_note("melody", 2, 4, "E4"), has_fermata=True)
    fermatas = found(mei_of(make_arrangement((held,))), "fermata")
    assert [fermata.get("startid") for fermata in fermatas] == ["#m1v1e0n0"]


def test_chord_symbols_take_their_room_at_their_moment() -> None:
    root = melody_of("E4:4", harmony=make_harmony("-:1 F#.minor-seventh:3"))
    assert [(h.get("tstamp"), h.text) for h in found(root, "harm")] == [("2", "F#m7")]


def test_moments_are_counted_in_the_unit_of_the_meter() -> None:
    bars = make_bars(1, "6/8")
    root = mei_of(make_arrangement(make_line("melody", "E4:3"), bars, harmony=make_harmony("-:3/2 C:3/2")))
    assert [h.get("tstamp") for h in found(root, "harm")] == ["4"]


def test_systems_begin_where_they_are_told_to() -> None:
    root = mei_of(make_arrangement(make_line("melody", "E4:12")), (1, 2))
    systems = [[bar.get(XML_ID) for bar in found(system, "measure")] for system in found(root, "system")]
    assert systems == [["m0"], ["m1"], ["m2"]]


def test_any_title_makes_well_formed_xml() -> None:
    assert found(melody_of("E4:4", title="\x00<&\ud800"), "note")


def test_tied_heads_of_odd_lengths_are_all_written() -> None:
    root = melody_of("E4:5/2 F4:3/2")
    total = sum(
        Fraction(4, int(n.get("dur", "4"))) * (2 - Fraction(1, 2 ** int(n.get("dots", "0"))))
        for n in found(root, "note")
    )
    assert total == 4


# Stems of the accompaniment.


def accompaniment(bass: str, inner: str) -> Element:
    return mei_of(make_arrangement((*make_line("bass", bass), *make_line("inner", inner)), make_bars(1)))


def strikes_of(root: Element) -> list[list[str]]:
    """The chords, and the notes that stand alone, by their ids."""
    chords = [[str(note.get(XML_ID)) for note in found(chord, "note")] for chord in found(root, "chord")]
    inside = {name for chord in chords for name in chord}
    singles = [str(note.get(XML_ID)) for note in found(root, "note") if note.get(XML_ID) not in inside]
    return [*chords, *([name] for name in singles)]


def test_what_bass_and_inner_voice_strike_together_with_one_written_value_has_one_stem() -> None:
    """The half notes do, the eighths over the held bass do not. No source; common practice."""
    root = accompaniment("C3:2 A2:2", "E3:2 G3:1/2 r:1 E3:1/2")
    assert strikes_of(root)[0] == ["m0v2e0n0", "m0v3e0n0"]
    assert len(found(root, "chord")) == 1


def test_an_inner_strike_at_the_end_of_a_beam_leaves_it_for_the_stem_of_the_bass() -> None:
    root = accompaniment("C3:3/2 A2:1/2 C3:2", "r:1 E3:1/2 G3:1/2 r:2")
    assert strikes_of(root)[0] == ["m0v2e1n0", "m0v3e2n0"]
    assert not found(root, "beam")


def test_an_inner_strike_joins_the_bass_under_its_beam() -> None:
    root = accompaniment("C3:1/2 A2:1/2 C3:1 A2:2", "E3:1/2 r:1 r:1/2 r:1 E3:1")
    (beam,) = found(root, "beam")
    assert [len(found(chord, "note")) for chord in found(beam, "chord")] == [2]


def test_a_strike_under_the_middle_of_a_beam_stays_there() -> None:
    root = accompaniment("r:1/2 C3:1/2 r:1 C3:2", "E3:1/2 G3:1/2 E3:1/2 r:1 G3:1/2 r:1")
    beams = [[note.get(XML_ID) for note in found(beam, "note")] for beam in found(root, "beam")]
    assert beams == [["m0v3e0n0", "m0v3e1n0", "m0v3e2n0"]]


def test_two_voices_on_one_line_of_the_staff_keep_their_own_stems() -> None:
    root = accompaniment("E3:2 A2:2", "Eb3:2 r:1/2 G3:3/2")
    assert not found(root, "chord")


def test_a_stem_with_a_hanging_flag_is_longer_than_the_flag_and_reaches_the_middle_line() -> None:
    """The flag of the music font hangs by 3.3 spaces: 6.5 staff steps, and the half height of the head."""
    root = accompaniment("C3:1/2 r:1/2 A5:1/2 r:5/2", "r:4")
    lengths = [float(str(note.get("stem.len"))) for note in found(root, "note") if note.get("stem.len")]
    assert lengths == [7.75, 13]


def test_stems_that_end_in_a_beam_and_stems_without_flags_are_left_to_the_layout() -> None:
    root = accompaniment("C3:1/2 E3:1/2 A2:3", "r:4")
    assert all(note.get("stem.len") is None for note in found(root, "note"))
