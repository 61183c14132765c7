"""The page checker, fed with broken pages: each complaint is seen once, and none on a good page."""

from fractions import Fraction
from pathlib import Path

import pytest
from music21 import harmony

from references.page_checker import KINDS, check_page, main, measure_page, read_page, span_mm

TUNING = (("E", 2), ("A", 2), ("D", 3), ("G", 3), ("B", 3), ("E", 4))
STEPS = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}


def note(  # noqa: PLR0913 - a note has that many things
    pitch: str,
    eighths: int = 2,
    voice: int = 1,
    place: tuple[int, int] | None = (1, 0),
    finger: int | None = 0,
    *,
    chord: bool = False,
    ties: str = "",
) -> str:
    """``pitch`` is "F#4"; two divisions a quarter, so that ``eighths`` is the duration."""
    alter = pitch.count("#") - pitch[1:].count("b")
    technical = f"<string>{place[0]}</string><fret>{place[1]}</fret>" if place else ""
    fingering = "" if finger is None else f"<fingering>{finger}</fingering>"
    return (
        f"<note>{'<chord/>' if chord else ''}<pitch><step>{pitch[0]}</step><alter>{alter}</alter>"
        f"<octave>{pitch[-1]}</octave></pitch><duration>{eighths}</duration>"
        + "".join(f'<tie type="{tie}"/>' for tie in ties.split())
        + f"<voice>{voice}</voice>"
        f"<notations><technical>{fingering}{technical}</technical></notations></note>"
    )


def rest(eighths: int, voice: int = 1) -> str:
    return f"<note><rest/><duration>{eighths}</duration><voice>{voice}</voice></note>"


def back(eighths: int) -> str:
    return f"<backup><duration>{eighths}</duration></backup>"


def forward(eighths: int, voice: int | None = None) -> str:
    named = f"<voice>{voice}</voice>" if voice else ""
    return f"<forward><duration>{eighths}</duration>{named}</forward>"


def chord(root: str, kind: str = "major", more: str = "") -> str:
    named = f"<root><root-step>{root}</root-step></root>"
    return f"<harmony>{named}<kind>{kind}</kind>{more}</harmony>"


def attributes(beats: str = "4", beat_type: int = 4, more: str = "") -> str:
    return (
        "<attributes><divisions>2</divisions>"
        f"<time><beats>{beats}</beats><beat-type>{beat_type}</beat-type></time>{more}</attributes>"
    )


def page(*bars: str, more: str = "", first: str = "") -> bytes:
    measures = "".join(
        f'<measure number="{number}" {first if number == 1 else ""}>{bar}</measure>'
        for number, bar in enumerate(bars, 1)
    )
    measures = measures.replace(">", ">" + attributes(more=more), 1)
    return f"<score-partwise><part id='P1'>{measures}</part></score-partwise>".encode()


MELODY = note("E4", 4) + note("G4", 4, place=(1, 3), finger=4)
BASS = note("C3", 8, 2, (5, 3), 3)
INNER = rest(2, 3) + note("G3", 2, 3, (3, 0), 0) + rest(2, 3) + note("C4", 2, 3, (2, 1), 1)
BAR = chord("C") + MELODY + back(8) + BASS + back(8) + INNER


def bar(melody: str = MELODY, bass: str = BASS, inner: str = INNER, harmony_: str = chord("C")) -> str:
    return harmony_ + melody + back(8) + bass + back(8) + inner


def complaints_of(*bars: str, **more: str) -> list[str]:
    return check_page(page(*bars, **more))


def test_a_good_page_has_no_complaints() -> None:
    assert complaints_of(BAR, BAR) == []
    assert complaints_of(bar(inner=forward(2, 3) + note("G3", 6, 3, (3, 0)))) == []


def test_tablature_under_the_notation_only_repeats_it() -> None:
    """MusicXML 4.0: its staff is told by the clef, and its notes by ``staff``."""
    clefs = "".join(
        f'<clef number="{number}"><sign>{sign}</sign></clef>' for number, sign in ((1, "G"), (2, "TAB"))
    )
    numbers = note("E4", 4, 21) + "<forward><duration>4</duration><staff>2</staff></forward>"
    tablature = back(8) + numbers.replace("</voice>", "</voice><staff>2</staff>")
    assert complaints_of(bar() + tablature, more=clefs) == []
    sounds = [read_page(page(music, more=clefs)).sounds for music in (bar() + tablature, bar())]
    assert sounds[0] == sounds[1]
    assert complaints_of(bar() + tablature) != []


@pytest.mark.parametrize("kind", [kind for kind in KINDS if kind not in {"Neapolitan", "Italian", "French", "German", "Tristan", "pedal", "power"}])  # fmt: skip
def test_the_kinds_have_the_tones_that_music21_gives_them(kind: str) -> None:
    tones = set(harmony.ChordSymbol(root="C", kind=kind).pitchClasses)
    (symbol,) = read_page(page(chord("C", kind) + rest(8))).chords
    assert symbol.tones == tones


@pytest.mark.parametrize(
    ("more", "tones"),
    [
        ("<degree><degree-value>9</degree-value><degree-alter>0</degree-alter><degree-type>add</degree-type></degree>", {0, 2, 4, 7}),
        ("<degree><degree-value>7</degree-value><degree-alter>0</degree-alter><degree-type>add</degree-type></degree>", {0, 4, 7, 10}),
        ("<degree><degree-value>5</degree-value><degree-alter>-1</degree-alter><degree-type>alter</degree-type></degree>", {0, 4, 6}),
        ("<degree><degree-value>3</degree-value><degree-alter>0</degree-alter><degree-type>subtract</degree-type></degree>", {0, 7}),
        ("<bass><bass-step>B</bass-step><bass-alter>-1</bass-alter></bass>", {0, 4, 7, 10}),
    ],
)  # fmt: skip
def test_a_symbol_may_change_its_degrees_and_its_bass(more: str, tones: set[int]) -> None:
    """MusicXML 4.0, ``degree-type``: alter and subtract act on the kind, add on a dominant chord."""
    (symbol,) = read_page(page(chord("C", "major", more) + rest(8))).chords
    assert symbol.tones == tones


def test_the_standard_tuning_is_that_of_every_guitar_method() -> None:
    """E A D G B E from string 6 to string 1 (common practice, no source)."""
    for string, (step, octave) in enumerate(reversed(TUNING), 1):
        melody = note(f"{step}{octave}", 8, place=(string, 0))
        assert complaints_of(melody) == []


@pytest.mark.parametrize(
    ("span", "limit_mm"),
    [(((3, 1), (3, 4)), 99.06), (((1, 5), (6, 5)), 46.6)],
)
def test_spans_are_reckoned_as_in_the_design(
    span: tuple[tuple[int, int], tuple[int, int]], limit_mm: float
) -> None:
    """By hand: frets at 650 (1 - 2^(-n/12)), a quarter of a fret behind the wire; the strings
    are 43 + 15 · 155.9/650 = 46.6 mm apart at the fifth fret's tip.
    """
    assert span_mm(*span) == pytest.approx(limit_mm, abs=0.05)


WRONG = {
    "lacks its string": bar(inner=rest(6, 3) + note("G3", 2, 3, None, 0)),
    "lacks its string, fret or finger": bar(inner=rest(6, 3) + note("G3", 2, 3, (3, 0), None)),
    "is not what string 3 fret 2 gives": bar(inner=rest(6, 3) + note("G3", 2, 3, (3, 2), 2)),
    "has finger 0 at fret 3": bar(bass=note("C3", 8, 2, (5, 3), 0)),
    "has finger 1 at fret 0": bar(inner=rest(6, 3) + note("G3", 2, 3, (3, 0), 1)),
    "is on one string with": bar(inner=note("E3", 8, 3, (5, 7), 4)),
    "takes its string, before its end, from": bar(inner=rest(6, 3) + note("E3", 2, 3, (5, 7), 4)),
    "needs one finger with": bar(inner=note("C4", 8, 3, (2, 1), 3)),
    "takes its finger, before its end, from": bar(inner=rest(6, 3) + note("C4", 2, 3, (2, 1), 3)),
    "fingers 2 and 3 cross": bar(bass=note("C3", 8, 2, (5, 3), 2), inner=rest(6, 3) + note("C4", 2, 3, (2, 1), 3)),
    "fingers 1 and 3 lie": bar(bass=note("C3", 8, 2, (6, 8), 3), inner=rest(6, 3) + note("C4", 2, 3, (2, 1), 1)),
    "sounds open under a barre at fret 3": bar(
        bass=note("G2", 8, 2, (6, 3), 1),
        melody=note("G4", 8, place=(1, 3), finger=1),
        inner=rest(2, 3) + note("G3", 6, 3, (3, 0), 0),
    ),
    "is pressed behind a barre at fret 3": bar(
        bass=note("G2", 8, 2, (6, 3), 1),
        melody=note("G4", 8, place=(1, 3), finger=1),
        inner=rest(2, 3) + note("C4", 6, 3, (2, 1), 2),
    ),
    "is not below the melody": bar(inner=note("E4", 4, 3, (2, 5), 4) + rest(4, 3)),
    "is no tone of its chord": bar(harmony_=chord("F")),
    "is held into a chord that has no such tone": chord("C") + note("E4", 4) + chord("F") + note("A4", 4, place=(1, 5), finger=4) + back(8) + note("G3", 8, 2, (3, 0)),
    "sounds before any chord symbol": bar(harmony_=""),
    "voice 2 is empty from quarter 0 to 2": MELODY + back(4) + chord("C") + note("C3", 4, 2, (5, 3), 3),
    "voice 2 ends at quarter 2 of 4": chord("C") + MELODY + back(8) + note("C3", 4, 2, (5, 3), 3),
    "voice 1 overlaps itself": note("E4", 4) + back(4) + note("E4", 8),
    "goes back to before its start": note("E4", 4) + back(5) + note("E4", 8),
    "a grace or cue note": "<note><grace/><pitch><step>E</step><octave>4</octave></pitch></note>" + MELODY,
    "a chord symbol of no known kind: 'other'": chord("C", "other") + MELODY,
    "is tied from nothing": note("E4", 8, ties="stop"),
    "is tied to nothing": note("E4", 8, ties="start"),
    "changes string, fret or finger within a tie": note("E4", 4, ties="start") + note("E4", 4, place=(2, 5), finger=4, ties="stop"),
}  # fmt: skip


@pytest.mark.parametrize("fault", WRONG)
def test_each_fault_is_complained_of_with_its_bar(fault: str) -> None:
    complaints = (
        complaints_of(BAR, WRONG[fault])
        if fault != "sounds before any chord symbol"
        else complaints_of(rest(8), WRONG[fault])
    )
    found = [complaint for complaint in complaints if fault in complaint]
    assert found, complaints
    assert all(complaint.startswith("bar 2: ") for complaint in found)


def test_a_barre_by_finger_1_is_one_finger_at_one_fret() -> None:
    full = bar(
        bass=note("G2", 8, 2, (6, 3), 1),
        melody=note("G4", 8, place=(1, 3), finger=1),
        inner=note("D3", 8, 3, (5, 5), 3),
        harmony_=chord("G"),
    )
    two_frets = full.replace("<fret>5</fret>", "<fret>4</fret>").replace("<fingering>3", "<fingering>1")
    assert complaints_of(full) == []
    assert any("needs one finger" in complaint for complaint in complaints_of(two_frets))


def test_a_string_below_a_half_barre_may_sound_open() -> None:
    half = bar(
        bass=note("A2", 8, 2, (5, 0), 0),
        melody=note("A4", 8, place=(1, 5), finger=1),
        inner=note("C4", 8, 3, (3, 5), 1),
        harmony_=chord("A", "minor"),
    )
    assert complaints_of(half) == []


def test_the_next_note_may_take_string_and_finger_when_the_first_ends() -> None:
    assert complaints_of(note("F4", 4, place=(1, 1), finger=1) + note("C4", 4, place=(2, 1), finger=1)) == []
    assert complaints_of(note("F4", 4, place=(1, 1), finger=1) + note("G4", 4, place=(1, 3), finger=3)) == []


def test_a_span_at_the_limit_is_fine_and_a_hair_more_is_not() -> None:
    wide = page(note("F4", 8, place=(1, 1), finger=1) + note("F2", 8, place=(6, 1), finger=4, chord=True))
    stretch = page(chord("F") + note("C5", 8, place=(1, 8), finger=4) + back(8) + note("F3", 8, 2, (4, 3), 1))
    span = span_mm((1, 8), (4, 3))
    assert check_page(stretch, limits_mm={(1, 4): span}) == []
    assert len(check_page(stretch, limits_mm={(1, 4): span - 0.001})) == 1
    assert any("cross" in complaint for complaint in check_page(wide))


def test_tied_heads_are_one_sound_over_the_barline() -> None:
    tied = page(note("E4", 8, ties="start"), note("E4", 2, place=None, finger=None, ties="stop") + rest(6))
    (sound,) = read_page(tied).sounds
    assert (sound.onset, sound.offset) == (Fraction(0), Fraction(5))
    assert check_page(tied) == []


def test_a_tied_note_is_held_to_the_end_of_its_last_head() -> None:
    melody = note("E4", 8, ties="start"), note("E4", 4, ties="stop") + note("G4", 4, place=(1, 3), finger=3)
    taken = (
        melody[0],
        note("E4", 4, ties="stop") + note("G4", 4, place=(1, 3), finger=3) + back(6) + rest(6, 2),
    )
    inner = chord("C") + melody[1] + back(8) + rest(2, 2) + note("C4", 6, 2, (1, 8), 4)
    assert check_page(page(*melody)) == []
    assert check_page(page(*taken)) != []
    assert any("takes its string, before its end" in c for c in complaints_of(melody[0], inner))


def test_tuning_capo_and_transposition_are_read_from_the_page() -> None:
    drop_d = (
        "<staff-details><staff-lines>6</staff-lines>"
        + "".join(
            f'<staff-tuning line="{line}"><tuning-step>{step}</tuning-step>'
            f"<tuning-octave>{octave}</tuning-octave></staff-tuning>"
            for line, (step, octave) in enumerate((("D", 2), *TUNING[1:]), 1)
        )
        + "</staff-details>"
    )
    low_d = chord("D") + rest(8) + back(8) + note("D2", 8, 2, (6, 0), 0)
    assert complaints_of(low_d, more=drop_d) == []
    assert len(complaints_of(low_d)) == 1
    capo = "<staff-details><capo>2</capo></staff-details>"
    sounding_higher = "<transpose><diatonic>1</diatonic><chromatic>2</chromatic></transpose>"
    assert complaints_of(MELODY, more=capo + sounding_higher) == []
    assert complaints_of(MELODY, more=capo) != []
    octave = "<transpose><chromatic>0</chromatic><octave-change>-1</octave-change></transpose>"
    assert complaints_of(note("E5", 8), more=octave) == []


def test_bars_are_full_but_for_the_pickup_the_last_and_split_ones() -> None:
    full, half, third = note("E4", 8), note("E4", 4), note("E4", 2)
    repeat = '<barline><repeat direction="backward"/></barline>'
    assert complaints_of(third, full, half) == []
    assert complaints_of(full, half, half, full) == []
    assert complaints_of(full, half + repeat, full, full) == []
    assert complaints_of(full, third, full, full) == ["bar 2: holds 1 quarters, its meter 4"]
    assert complaints_of(full, note("E4", 9), full) == ["bar 2: holds 9/2 quarters, its meter 4"]
    changed = attributes("3+2", 8)
    assert complaints_of(full, changed + note("E4", 5), note("E4", 5)) == []


def test_a_melody_is_compared_up_to_one_transposition() -> None:
    given = [(Fraction(0), Fraction(2), 60), (Fraction(2), Fraction(2), 63)]
    tune = page(MELODY)
    assert check_page(tune, melody=given) == []
    other = [(Fraction(0), Fraction(2), 60), (Fraction(2), Fraction(2), 64)]
    assert check_page(tune, melody=other) == ["bar 1: the melody is transposed in 2 ways: [3, 4]"]
    assert check_page(tune, melody=other, changed=[Fraction(2)]) == []
    longer = [given[0], (Fraction(2), Fraction(1), 63)]
    assert [c for c in check_page(tune, melody=longer) if "lasts 2, not 1" in c]
    more = [*given, (Fraction(7, 2), Fraction(1, 2), 62)]
    assert check_page(tune, melody=more) == ["bar ?: the melody note at quarter 7/2 is missing"]
    assert [c for c in check_page(tune, melody=given[:1]) if "is not in the given melody" in c]
    doubled = page(note("G4", 8, place=(1, 3), finger=3) + note("E4", 8, place=(2, 5), finger=4, chord=True))
    assert "bar ?: two melody notes start at once" in check_page(doubled, melody=[])


def test_motion_is_the_share_of_eighths_with_a_stroke_where_there_is_accompaniment() -> None:
    accompanied = measure_page(read_page(page(BAR, rest(8))))
    # Strokes in BAR at quarters 0, 1, 2 and 3: four of eight eighths; the empty bar does not count.
    assert accompanied.motion == 0.5
    assert (accompanied.bars, accompanied.notes) == (2, 5)
    # E4 is held under the G3, G4 under the C4, C3 under all that follows it.
    assert accompanied.held == 3
    assert measure_page(read_page(page(MELODY))).motion is None


@pytest.mark.parametrize(
    "xml", [b"", b"<score-timewise/>", b"no music", b"<score-partwise><part/><part/></score-partwise>"]
)
def test_what_is_no_page_is_refused(xml: bytes) -> None:
    with pytest.raises(ValueError, match="not"):
        read_page(xml)


def test_the_command_prints_a_table_and_the_complaints(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    good, bad = tmp_path / "good.musicxml", tmp_path / "bad.musicxml"
    good.write_bytes(page(BAR))
    bad.write_bytes(page(WRONG["fingers 2 and 3 cross"]))
    assert main([str(good)]) == 0
    assert main([str(good), str(bad)]) == 1
    printed = capsys.readouterr().out
    assert "good.musicxml" in printed
    assert "50%" in printed
    assert "bad.musicxml: bar 1: fingers 2 and 3 cross" in printed
