"""What is written as MusicXML is read again without loss, and written again byte for byte.

All songs that are at hand go the same way in ``bench/round_trip_bench.py``.
"""

from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from lxml import etree

from apoyando.arranging import finger_score
from apoyando.engraving import engrave_musicxml, engrave_svgs, notate, notate_whole, write_musicxml
from apoyando.engraving.notation.jumps import word_jumps
from apoyando.engraving.notation.marks import list_guides
from apoyando.engraving.page.page import make_pages
from apoyando.model.arrangement import Arrangement
from apoyando.model.dynamics import Dynamic, Layer, Loudness
from apoyando.model.harmony import HarmonySpan
from apoyando.model.plan import Plan
from apoyando.model.position import list_shifts
from apoyando.model.sheet import Sheet, Staves, Variant
from apoyando.model.song import Bar
from apoyando.pipeline import make_piece
from apoyando.proofing import find_rings
from apoyando.reading import load_default_levels, read_score
from builders import (
    change_bar,
    make_arrangement,
    make_barre,
    make_bars,
    make_form,
    make_harmonic,
    make_harmony,
    make_line,
    make_note,
)

LEVELS = load_default_levels()
PLAIN, WITH_LINES = Sheet(), Sheet(hold_lines=True, chord_diagrams=True)
EXAMPLES = Path(__file__).parents[1] / "examples"
HEADING = (
    "title",
    "composer",
    "lyricist",
    "arranger",
    "is_arranged",
    "rights",
    "key",
    "capo",
    "tuning",
    "barres",
    "dynamics",
)
TEMPO = ("tempo_quarters_per_minute", "tempo_words")

EVERYTHING = b"""X:1
T:Over the Stile
C:Our own
Z:Nobody's rights
M:3/4
L:1/8
Q:"Gently" 1/4=72
K:D
P:A
"A7"A2 |: "D"d4 e2 | (3"Bm"f2e2d2 e2 |1 "A7"c4 A2 :|2 "A7"c4 ||
w:O~ ver the_ stile_ * and by, and *
P:B
e2 | "G"B6- | B4 G2 | [M:2/4] "A7"Hc4 | [M:3/4] "D"d6 !D.C.! |]
w:come, O__ me home.
"""
"""A pickup, a repeat with endings, sections, triplets, ties, a change of meter, a fermata, words held."""


def write(arrangement: Arrangement, sheet: Sheet = PLAIN) -> bytes:
    """The MusicXML of a page."""
    return write_musicxml(notate_whole(sheet, arrangement))


def read_back(arrangement: Arrangement, sheet: Sheet = PLAIN) -> Arrangement:
    """What is fingered from the MusicXML alone."""
    return finger_file(write(arrangement, sheet), arrangement)


def finger_file(file: bytes, arrangement: Arrangement) -> Arrangement:
    """What is fingered from a file of the arrangement that may have been changed since."""
    score = read_score(file, "again.musicxml")
    plan = Plan(level=arrangement.level, tuning=arrangement.tuning.name, capo=arrangement.capo)
    return finger_score(score, plan, LEVELS).arrangement


def notes_of(arrangement: Arrangement) -> Counter[tuple[Any, ...]]:
    """Everything that a note is."""
    return Counter(
        (
            note.span,
            note.pitch,
            note.place,
            note.finger,
            note.pluck,
            note.role,
            note.in_barre,
            note.lyrics,
            note.has_fermata,
            note.is_rolled,
            note.is_harmonic,
            note.lets_ring,
        )
        for note in arrangement.notes
    )


def harmony_of(arrangement: Arrangement) -> Iterator[tuple[Any, ...]]:
    """What is said of the chords, without how the source words it."""
    spans: tuple[HarmonySpan, ...] = arrangement.harmony
    for span in spans:
        chord = span.chord
        yield span.span, chord and (chord.root, chord.kind, chord.bass, chord.degrees)


def as_printed(bar: Bar, arrangement: Arrangement) -> Bar:
    """With the words of its jumps as they are printed, whoever worded them."""
    return replace(bar, jump_words=" ".join(text for _, text in word_jumps(arrangement.bars, bar)))


def assert_nothing_is_lost(arrangement: Arrangement, sheet: Sheet = PLAIN) -> None:
    """The staves are the sheet's; all else is in the file."""
    again = read_back(arrangement, sheet)
    assert notes_of(again) == notes_of(arrangement)
    assert list(harmony_of(again)) == list(harmony_of(arrangement))
    for field in (*HEADING, *TEMPO):
        assert getattr(again, field) == getattr(arrangement, field), field
    assert [as_printed(bar, again) for bar in again.bars] == [
        as_printed(bar, arrangement) for bar in arrangement.bars
    ]
    assert (again.relaxations, again.given_up_holds, again.melody_changes) == ((), (), ())
    assert write(again, replace(PLAIN, staves=sheet.staves)) == write(arrangement, sheet)


@pytest.mark.parametrize(
    "plan",
    [
        Plan(level="early", capo=2, ending="rolled-chord"),
        Plan(level="intermediate", tuning="drop-d", key="D", texture="arpeggio", ending="fermata"),
        Plan(level="advanced", tuning="drop-d", key="D", ending="harmonics"),
    ],
    ids=["capo and a rolled chord", "drop D and a fermata", "drop D and harmonics"],
)
def test_a_song_with_everything_comes_back_as_it_was(plan: Plan) -> None:
    piece = make_piece(EVERYTHING, "stile.abc", plan, LEVELS)
    arrangement = piece.arrangement
    assert any(lyric.is_held for note in arrangement.notes for lyric in note.lyrics)
    assert any(note.is_rolled or note.has_fermata for note in arrangement.notes)
    assert any(note.is_harmonic for note in arrangement.notes) is (plan.ending == "harmonics")
    assert_nothing_is_lost(arrangement)
    assert b'line-type="solid"' in write(arrangement, WITH_LINES)
    assert_nothing_is_lost(arrangement, WITH_LINES)
    for staves in (Staves.TABLATURE, Staves.NOTATION_AND_TABLATURE):
        assert_nothing_is_lost(arrangement, Sheet(staves=staves))


BARRED = b"""X:1
T:Two Bars of F
M:4/4
L:1/4
K:F
"F"f f a c' | "Bb"d' b f2 |]
"""


def test_barres_come_back_as_they_were() -> None:
    arrangement = make_piece(
        BARRED, "barred.abc", Plan(level="advanced", key="F#", texture="running-eighths"), LEVELS
    ).arrangement
    assert arrangement.barres
    assert_nothing_is_lost(arrangement)


def test_a_barre_that_is_lifted_to_its_tip_comes_back_so() -> None:
    """The note goes on under the finger; the bracket says when it no longer lies flat."""
    notes = (
        make_note("melody", 0, 1, "F4", finger=1, string=1, in_barre=True),
        make_note("inner", 0, 4, "C4", finger=1, string=2, in_barre=True),
        make_note("bass", 0, 4, "A2"),
        make_note("melody", 1, 3, "G4", finger=3, string=1),
    )
    lifted = make_arrangement(notes, barres=(make_barre(1, 2, 0, 1),))
    kept = make_arrangement(notes, barres=(make_barre(1, 2, 0, 4),))
    assert read_back(lifted).barres == lifted.barres
    assert read_back(kept).barres == kept.barres


# What is not named is no barre.

ON_TIPS = (
    make_note("melody", 0, "1/2", "C4", string=2, finger=1, pluck="m"),
    make_note("melody", "1/2", "1/2", "F4", string=1, finger=1, pluck="a"),
    make_note("melody", 1, "1/2", "C4", string=2, finger=1, pluck="m"),
)
TIPS = make_arrangement(ON_TIPS)
"""Finger 1 jumps from string to string with its tip; to lay it flat ahead would be cheaper."""
BARRE = make_arrangement(
    (
        *ON_TIPS[:2],
        *make_line("melody", "F4:2", 2),
        *make_line("inner", "C4+A3:2", 2),
        make_note("inner", 2, 2, "F3", string=4, finger=4),
        *make_line("bass", "C3+F2:2", 2),
    ),
    barres=(make_barre(1, 6, 2, 2),),
)
"""The tip first, and then a barre: six strings, and four fingers."""


def without_barres(file: bytes, *, names_barres: bool = True, strings: str = "123456") -> bytes:
    """The file without its barre marks, and with digits on these strings alone.

    ``names_barres``: it says that it would name them.
    """
    root = etree.fromstring(file)
    gone = root.xpath("//direction[direction-type/bracket]")
    gone += [digit for digit in root.iter("fingering") if digit.getparent().findtext("string") not in strings]
    gone += [] if names_barres else root.xpath("//supports[@element='bracket']")
    for element in gone:
        element.getparent().remove(element)
    changed: bytes = etree.tostring(root)
    return changed


def test_a_finger_that_jumps_with_its_tip_comes_back_so() -> None:
    """MusicXML 4.0, ``supports``: where it says yes, a bracket that is not there is meant not to be there."""
    assert_nothing_is_lost(TIPS)


def test_a_file_that_says_nothing_of_barres_leaves_them_to_the_hand() -> None:
    again = finger_file(without_barres(write(TIPS), names_barres=False), TIPS)
    assert {barre.fret for barre in again.barres} == {1}
    assert again.relaxations == ()


def test_two_notes_at_once_for_finger_1_are_a_barre_though_its_mark_is_taken_out() -> None:
    again = finger_file(without_barres(write(BARRE)), BARRE)
    assert (again.barres, again.relaxations) == (BARRE.barres, ())


@pytest.mark.parametrize("strings", ["", "6"], ids=["all of them", "all but one of finger 1"])
def test_where_digits_are_taken_out_too_a_barre_may_be_laid(strings: str) -> None:
    again = finger_file(without_barres(write(BARRE), strings=strings), BARRE)
    assert (again.barres, again.relaxations) == (BARRE.barres, ())


def test_dynamics_come_back_with_their_layer() -> None:
    marks = (
        Dynamic(Fraction(0), Loudness.MF, Layer.MELODY),
        Dynamic(Fraction(1), Loudness.SFZ),
        Dynamic(Fraction(2), Loudness.PP, Layer.ACCOMPANIMENT),
    )
    notes = (*make_line("melody", "E4:4"), *make_line("bass", "A2:4"))
    assert read_back(make_arrangement(notes, dynamics=marks)).dynamics == marks


def test_a_barre_that_is_not_laid_is_told() -> None:
    """Its fret is written for no note."""
    notes = (*make_line("melody", "E4:4"), *make_line("bass", "A2:4"))
    again = read_back(make_arrangement(notes, barres=(make_barre(5, 6, 0, 2),)))
    assert again.barres == ()
    assert "the barre at fret 5 is not laid" in again.relaxations[0].reason


def test_harmonics_at_every_node_come_back_as_they_were() -> None:
    """Touched flat and by one finger, over an open bass and beside a stopped one."""
    notes = (
        make_harmonic("melody", 0, 1, "D5", 3, 7),
        make_harmonic("inner", 0, 1, "A4", 4, 7),
        *make_line("bass", "A2:2"),
        make_harmonic("melody", 1, 1, "G5", 3, 5, 1),
        make_harmonic("melody", 2, 1, "E5", 1, 12, 4),
        make_harmonic("melody", 3, 1, "B5", 3, 4, 4),
        *make_line("bass", "G2:1", 3),
    )
    arrangement = make_arrangement(notes, level="advanced")
    again = read_back(arrangement)
    assert notes_without_plucks(again) == notes_without_plucks(arrangement)
    assert read_score(write(arrangement), "again.musicxml").remarks == (), "harm. XII is no loose word"
    assert again.barres == ()
    assert again.relaxations == ()


def notes_without_plucks(arrangement: Arrangement) -> Counter[tuple[Any, ...]]:
    bare = tuple(replace(note, pluck=None) for note in arrangement.notes)
    return notes_of(replace(arrangement, notes=bare))


def test_a_harmonic_that_the_hand_does_not_reach_is_left_out_and_told() -> None:
    """The wire of fret 12 lies farther from a held first fret than any hand opens."""
    notes = (
        make_note("bass", 0, 4, "F2", finger=1),
        make_harmonic("melody", 0, 4, "E5", 1, 12, 4),
        *make_line("inner", "r:4"),
    )
    again = read_back(make_arrangement(notes, level="advanced"))
    left_out = [step.reason for step in again.relaxations]
    assert len(again.notes) == 1
    assert any("is left out" in reason for reason in left_out)


@pytest.mark.parametrize("meter", ["5/8", "2+3/8", "3+2+2/8", "2+3/4"])
def test_the_groups_of_a_meter_come_back_as_they_were(meter: str) -> None:
    bars = make_bars(2, meter)
    arrangement = make_arrangement(make_line("melody", f"E4:{bars[0].duration} G4:{bars[0].duration}"), bars)
    again = read_back(arrangement)
    assert [bar.meter for bar in again.bars] == [bar.meter for bar in bars]
    beats = meter.split("/", maxsplit=1)[0]
    assert f"<beats>{beats}</beats>".encode() in write_musicxml(notate(again))


# Jumps.


def test_jumps_come_back_with_their_signs_and_words_whoever_worded_them() -> None:
    bars = make_form("A | S B | To C | DS D | O E | Fine F")
    for index, words in ((2, "To"), (3, "Dal Segno al Coda"), (5, "Fin")):
        bars = change_bar(bars, index, jump_words=words)
    tune = tuple(make_note("melody", 4 * bar, 4, "E4", pluck="a") for bar in range(6))
    for form in (bars, tuple(replace(bar, jump_words="") for bar in bars)):
        assert_nothing_is_lost(make_arrangement(tune, form))


def test_repeats_that_are_taken_after_turning_back_too_come_back() -> None:
    tune = tuple(make_note("melody", 4 * bar, 4, "E4", pluck="a") for bar in range(3))
    assert_nothing_is_lost(make_arrangement(tune, make_form(": A always : | : B Fine : | C DC")))


# Guide fingers.

GUIDED = make_arrangement(
    (
        make_note("melody", 0, 1, "F4", finger=1, string=1),
        make_note("melody", 1, 1, "A4", finger=1, string=1),
        make_note("melody", 2, 2, "F4", finger=1, string=1),
    )
)
"""Finger 1 goes along string 1 and back."""


def file_with_guides(*places: int, says_guides: bool = True, by: str = "other-technical") -> bytes:
    """The file of ``GUIDED`` with guide fingers at these notes alone; ``says_guides``: it says that it would name them."""
    root = etree.fromstring(write_musicxml(notate(GUIDED)))
    if not says_guides:
        (supports,) = root.xpath("//supports[@element='other-technical']")
        supports.getparent().remove(supports)
    for place, technical in enumerate(root.iter("technical")):
        for guide in technical.findall("other-technical"):
            technical.remove(guide)
        if place in places and by == "other-technical":
            etree.SubElement(technical, by).text = "guide finger"
        elif place in places:
            technical.find(by).text = "-" + technical.findtext(by)
    changed: bytes = etree.tostring(root)
    return changed


def guides_of(arrangement: Arrangement) -> list[int]:
    """The places of the guided notes among all."""
    guides = list_guides(arrangement, list_shifts(arrangement.notes))
    return [place for place, note in enumerate(arrangement.notes) if note in guides]


def test_guide_fingers_come_back_as_they_were() -> None:
    assert guides_of(GUIDED) == [1, 2]
    again = read_back(GUIDED)
    assert guides_of(again) == [1, 2]
    assert guides_of(read_back(again)) == [1, 2]


def test_a_guide_finger_that_is_taken_out_of_the_file_stays_out() -> None:
    """MusicXML 4.0, ``supports``: where it says yes, what is not there is meant not to be there."""
    assert guides_of(finger_file(file_with_guides(2), GUIDED)) == [2]
    assert guides_of(finger_file(file_with_guides(), GUIDED)) == []


def test_a_file_that_names_some_guide_fingers_means_no_others() -> None:
    for by in ("other-technical", "fingering"):
        assert guides_of(finger_file(file_with_guides(1, says_guides=False, by=by), GUIDED)) == [1]


def test_where_a_file_says_nothing_of_guide_fingers_they_are_found() -> None:
    assert guides_of(finger_file(file_with_guides(says_guides=False), GUIDED)) == [1, 2]


def test_a_guide_finger_that_comes_from_nowhere_is_told() -> None:
    again = finger_file(file_with_guides(0), GUIDED)
    assert guides_of(again) == []
    assert "finger 1 does not come along string 1" in again.relaxations[0].reason


def test_fingered_anew_a_file_keeps_no_guide_fingers() -> None:
    bare = read_score(file_with_guides(), "again.musicxml").without_fingering()
    assert {note.given.is_guided for note in bare.notes} == {None}


# Hold lines.

HELD = make_arrangement(
    (
        *make_line("melody", "E4:1 G4:1 E4:2"),
        make_note("inner", 0, 2, "G3"),
        make_note("inner", 0, 2, "B3"),
        make_note("bass", 0, 4, "A2"),
    )
)


def held_in(arrangement: Arrangement, sheet: Sheet = PLAIN) -> list[str]:
    return sorted(str(note.pitch) for note in notate_whole(sheet, arrangement).held)


def test_hold_lines_come_back_as_they_were() -> None:
    assert held_in(HELD) == held_in(read_back(HELD)) == []
    assert held_in(HELD, WITH_LINES) == held_in(read_back(HELD, WITH_LINES)) == ["A2", "B3", "G3"]


@pytest.mark.parametrize("pitch", ["A2", "B3", "G3"])
def test_a_hold_line_that_is_taken_out_of_the_file_stays_out(pitch: str) -> None:
    """Of two notes that begin and end together too, and even where the sheet wants lines."""
    root = etree.fromstring(write(HELD, WITH_LINES))
    y = {"A2": "-62.5", "B3": "-22.5", "G3": "-32.5"}[pitch]
    for bracket in root.xpath(f"//bracket[@default-y='{y}']"):
        direction = bracket.getparent().getparent()
        direction.getparent().remove(direction)
    again = finger_file(etree.tostring(root), HELD)
    assert held_in(again) == held_in(again, WITH_LINES) == sorted({"A2", "B3", "G3"} - {pitch})


def test_tablature_alone_has_no_hold_lines_in_its_file_either() -> None:
    sheet = replace(WITH_LINES, staves=Staves.TABLATURE)
    assert b'line-type="solid"' not in write(HELD, sheet)


def test_a_bracket_that_holds_no_note_is_told() -> None:
    file = write(HELD, WITH_LINES).replace(b'default-y="-62.5"', b'default-y="20"')
    score = read_score(file, "again.musicxml")
    assert [remark.text for remark in score.remarks] == ["A bracket is not carried over."]


# What rings.


def test_a_note_that_is_let_ring_has_an_open_tie_on_the_page_and_in_the_file() -> None:
    """MusicXML 4.0: a ``tied`` of type let-ring, and no other."""
    bass = make_note("bass", 0, 5, "A2", pluck="p")
    melody = make_note("melody", 0, 8, "E4", pluck="a")
    plain = make_arrangement((melody, bass), make_bars(2))
    ringing = make_arrangement((melody, replace(bass, lets_ring=True)), make_bars(2))
    assert [ties_on_page(each) for each in (plain, ringing)] == [2, 3]
    assert write(ringing).count(b'<tied type="let-ring"/>') == 1
    assert_nothing_is_lost(ringing)


def ties_on_page(arrangement: Arrangement) -> int:
    (page,) = make_pages(notate(arrangement), PLAIN)
    return sum(shape.kind == "tie" for _, line in page.lines for shape in line.shapes)


def test_what_a_piece_lets_ring_is_found_again_in_what_is_read() -> None:
    """The rings are not read: they follow from the notes and the chords, which are."""
    piece = make_piece(EVERYTHING, "stile.abc", Plan(level="intermediate", texture="arpeggio"), LEVELS)
    again = read_back(piece.arrangement)
    rings = find_rings(again, LEVELS["intermediate"])
    holds = engrave_musicxml(piece.arrangement, PLAIN, Variant.HOLDS, piece.rings)
    assert b"let-ring" in holds
    assert engrave_musicxml(again, PLAIN, Variant.HOLDS, rings) == holds


def test_who_arranged_a_score_stands_on_its_page_and_in_its_file() -> None:
    signed = replace(HELD, arranger="A. Player")
    again = read_back(signed)
    assert again.arranger == "A. Player"
    assert write(again).count(b'<creator type="arranger">A. Player</creator>') == 1
    (page,) = engrave_svgs(again, PLAIN)
    assert "arr. A. Player" in page


def test_that_a_song_was_arranged_comes_back_and_taken_out_of_the_file_stays_out() -> None:
    """MusicXML 4.0: a ``credit`` of type arranger."""
    file = write(HELD)
    assert heading_has(finger_file(file, HELD), "arr. for guitar")
    root = etree.fromstring(file)
    (credit,) = root.xpath("//credit[credit-type='arranger']")
    root.remove(credit)
    assert not heading_has(finger_file(etree.tostring(root), HELD), "arr.")


def heading_has(arrangement: Arrangement, words: str) -> bool:
    return words in engrave_svgs(arrangement, PLAIN)[0]


# Chord diagrams.


def diagrams_of(arrangement: Arrangement, sheet: Sheet = PLAIN) -> list[int]:
    return [int(diagram.onset) for diagram in notate_whole(sheet, arrangement).diagrams]


SHAPED = make_arrangement(
    (
        *make_line("melody", "C4:4 C4:4 E4:4"),
        *make_line("inner", "E3+G3:4 F3+A3:4 G#3+B3:4"),
        *make_line("bass", "C3:4 F2:4 E2:4"),
    ),
    make_bars(3),
    harmony=make_harmony("C:4 F:4 E:4"),
    barres=(make_barre(1, 6, 4, 4),),
)


def test_chord_diagrams_come_back_where_they_were_and_those_taken_out_stay_out() -> None:
    whole = diagrams_of(SHAPED, WITH_LINES)
    assert len(whole) > 1
    assert diagrams_of(read_back(SHAPED)) == []
    assert diagrams_of(read_back(SHAPED, WITH_LINES)) == whole
    root = etree.fromstring(write(SHAPED, WITH_LINES))
    frame = root.find(".//frame")
    frame.getparent().remove(frame)
    again = finger_file(etree.tostring(root), SHAPED)
    assert diagrams_of(again) == diagrams_of(again, WITH_LINES) == whole[1:]
