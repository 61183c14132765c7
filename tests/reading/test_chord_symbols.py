"""Spellings from common practice in lead sheets (no source), ABC 2.1 section 4.18 and MusicXML 4.0."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from apoyando.model.chord_text import write_chord_symbol
from apoyando.model.harmony import (
    KIND_DEGREES,
    Chord,
    Degree,
    DegreeChange,
    chord_tones,
)
from apoyando.model.pitch import PitchName, Step
from apoyando.reading.chord_symbols import describe_unread_chord, read_chord_symbol


def understood(text: str) -> Chord:
    reading = read_chord_symbol(text)
    assert reading is not None, text
    assert reading.ignored == "", text
    assert reading.chord is not None, text
    return reading.chord


def tones(chord: Chord) -> str:
    return " ".join(str(tone.name) for tone in chord_tones(chord))


@pytest.mark.parametrize(
    ("spellings", "spelled"),
    [
        ("C CM Cmaj Cmajor CMaj CMA Cma", "C E G"),
        ("Cm C- Cmi Cmin Cminor CMin CMIN", "C Eb G"),
        ("C+ Caug CAug C(#5) C+5 C(+5)", "C E G#"),
        ("Cdim Co C° Cº CDim Cm(b5) Cmb5 C0", "C Eb Gb"),
        ("C7 Cdom7", "C E G Bb"),
        ("Cmaj7 CM7 C^7 CΔ7 CΔ C^ Cma7 CMaj7 CMAJ7 C∆7 C△ Cj7 C7M C7maj C(maj7) Cmaj⁷", "C E G B"),
        ("Cm7 C-7 Cmi7 Cmin7 C−7 Cm⁷", "C Eb G Bb"),
        ("Cdim7 Co7 C°7 Cº7", "C Eb Gb Bbb"),
        ("Cø Cø7 CØ CØ7 Cm7b5 C-7b5 Cmi7b5 Cmin7(b5) Cm7-5 Cm7♭5 Ch7 Cm7/b5 Cm7(♭5)", "C Eb Gb Bb"),
        ("C7+ C7#5 C+7 Caug7 C7(#5) C7+5 C7♯5 C7/5+", "C E G# Bb"),
        (["Cmmaj7 CmM7 Cm(maj7) Cm/maj7 C-Δ7 CmΔ Cmin(maj7) Cm(M7) C-^7 Cm^7", "Cm+7"][0], "C Eb G B"),
        ("C6 CM6 Cmaj6 Cadd6", "C E G A"),
        ("Cm6 C-6 Cmin6", "C Eb G A"),
        ("C6/9 C69 C6add9 C6(9) Cmaj69 C⁶/⁹", "C E G A D"),
        ("Cm6/9 Cm69", "C Eb G A D"),
        ("C9 C7(9) C7/9 C7add9", "C E G Bb D"),
        ("Cmaj9 CM9 CΔ9 C^9 Cmaj7(9)", "C E G B D"),
        ("Cm9 C-9 Cmi9 Cm7(9)", "C Eb G Bb D"),
        ("C11", "C E G Bb D F"),
        ("Cm11 C-11", "C Eb G Bb D F"),
        ("C13", "C E G Bb D F A"),
        ("Cmaj13 CM13", "C E G B D F A"),
        ("Cm13", "C Eb G Bb D F A"),
        ("C7b9 C7(b9) C7-9 C7♭9 C7/b9 C7(-9) C7/9-", "C E G Bb Db"),
        ("C7#9 C7(#9) C7+9 C7♯9 C7b10", "C E G Bb D#"),
        ("C7#11 C7(#11) C7+11", "C E G Bb F#"),
        ("C7(b9,#11) C7b9#11 C7(b9#11) C7(b9/#11) C7[b9,#11]", "C E G Bb Db F#"),
        ("C7b5 C7(b5) C7-5", "C E Gb Bb"),
        ("C7b13 C7(b13)", "C E G Bb Ab"),
        ("C9#11", "C E G Bb D F#"),
        ("C13(b9) C13b9", "C E G Bb Db F A"),
        ("Cmaj7#11 CM7(#11) CΔ#11", "C E G B F#"),
        ("Cmaj7#5 C+M7 Caug(maj7) CM7+5", "C E G# B"),
        ("Cm7#5", "C Eb G# Bb"),
        ("Csus Csus4 C4 CSus4", "C F G"),
        ("Csus2 C2", "C D G"),
        ("C7sus4 C7sus C7(sus4) C7/4 Csus4/7 Csus7", "C F G Bb"),
        ("C9sus C9sus4", "C F G Bb D"),
        ("C13sus4 C13sus", "C F G Bb D A"),
        ("C7sus4b9 C7susb9", "C F G Bb Db"),
        ("Cmaj7sus2", "C D G B"),
        ("Csus24 Csus2/4 Csus4/2", "C D F G"),
        (["Cadd9 C(add9)", "Cadd2"][0], "C E G D"),
        ("Cadd2", "C D E G"),
        ("Cmadd9 Cm(add9)", "C Eb G D"),
        ("Cadd11", "C E G F"),
        ("Cadd#11 C(#11) C(add#11)", "C E G F#"),
        ("C5", "C G"),
        ("C(no3) Cno3 C(no3rd) C(omit3)", "C G"),
        ("C7(no5) C7no5", "C E Bb"),
        ("Cmb6", "C Eb G Ab"),
        ("Cdim(maj7) CoM7", "C Eb Gb B"),
        ("Cø9", "C Eb Gb Bb D"),
        ("Cm#7", "C Eb G B"),
        ("CmM9 Cm(maj9)", "C Eb G B D"),
        ("Cdim9 Co9", "C Eb Gb Bbb D"),
        ("Cø11", "C Eb Gb Bb D F"),
        ("C+M9 Caugmaj9", "C E G# B D"),
        ("Calt C7alt C7(alt)", "C E G# Bb D#"),
        ("C/E C/e", "C E G"),
        ("C/Bb C/B♭ C/bb", "C E G Bb"),
        ("Cm7/Bb", "C Eb G Bb"),
        ("C/C", "C E G"),
        ("(C7) (C7 C7) [C7] C7(", "C E G Bb"),
    ],
)  # fmt: skip
def test_every_spelling_of_a_chord_gives_its_tones(spellings: str, spelled: str) -> None:
    for text in spellings.split():
        assert sorted(tones(understood(text)).split()) == sorted(spelled.split()), text


@pytest.mark.parametrize(
    ("text", "root", "kind", "bass"),
    [
        ("Bb", "Bb", "major", None),
        ("B♭m7", "Bb", "minor-seventh", None),
        ("F♯°7", "F#", "diminished-seventh", None),
        ("F##m", "F##", "minor", None),
        ("Abb", "Abb", "major", None),
        ("Ab5", "Ab", "power", None),
        ("Eb6", "Eb", "major-sixth", None),
        ("D/F#", "D", "major", "F#"),
        ("G/b", "G", "major", "B"),
        ("Am7/G", "A", "minor-seventh", "G"),
        ("C6/9/E", "C", "major-sixth", "E"),
        ("am", "A", "minor", None),
        ("f#m7", "F#", "minor-seventh", None),
        ("bbm", "Bb", "minor", None),
        ("gmaj7", "G", "major-seventh", None),
        ("dsus4", "D", "suspended-fourth", None),
        (" Am ", "A", "minor", None),
        ("A minor", "A", "minor", None),
    ],
)
def test_root_kind_and_bass_are_told_apart(text: str, root: str, kind: str, bass: str | None) -> None:
    chord = understood(text)
    assert (str(chord.root), chord.kind) == (root, kind)
    assert (str(chord.bass) if chord.bass else None) == bass


@pytest.mark.parametrize("text", ["N.C.", "NC", "N.C", "n.c.", "nc", "N. C.", "No chord", "tacet"])
def test_no_chord_is_a_reading_without_a_chord(text: str) -> None:
    reading = read_chord_symbol(text)
    assert reading is not None
    assert reading.chord is None


@pytest.mark.parametrize(
    ("text", "kind", "ignored"),
    [
        ("C7xyz", "dominant", "xyz"),
        ("Cfoo", "major", "foo"),
        ("C7?", "dominant", "?"),
        ("Am7 D7", "minor-seventh", "D7"),
        ("G(Em)", "major", "Em"),
        ("Cm7*", "minor-seventh", "*"),
    ],
)
def test_what_is_not_understood_is_named_and_the_beginning_is_kept(
    text: str, kind: str, ignored: str
) -> None:
    reading = read_chord_symbol(text)
    assert reading is not None
    assert reading.chord is not None
    assert (reading.chord.kind, reading.ignored) == (kind, ignored)


@pytest.mark.parametrize(
    "text",
    [
        "", " ", "H", "H7", "Hm", "hm7", "Fine", "fine", "D.C.", "D.S. al Coda", "Da Capo", "Dal Segno",
        "Coda", "Chorus", "Bridge", "Ending", "Allegro", "Andante", "Adagio", "Guitar solo", "A section",
        "a", "b", "g7", "bb", "1.", "Verse", "?", "%", "do", "add9", "dim", "begin", "cresc.",
    ],
)  # fmt: skip
def test_what_names_no_chord_is_not_read_as_one(text: str) -> None:
    assert read_chord_symbol(text) is None


def test_the_german_h_is_not_guessed_but_explained() -> None:
    assert "Write B" in describe_unread_chord("H7")


def test_a_small_letter_alone_could_be_major_or_minor_and_is_explained() -> None:
    assert "major or minor" in describe_unread_chord("g7")
    assert "left out" in describe_unread_chord("Refrain")


def test_the_source_text_stays_with_the_chord() -> None:
    assert understood(" C△7 ").text == "C△7"


@pytest.mark.parametrize(
    ("chord", "printed"),
    [
        ("Cmaj7", "Cmaj7"), ("C-7", "Cm7"), ("C7", "C7"), ("C°7", "Cdim7"), ("Cø", "Cm7b5"), ("Csus", "Csus4"),
        ("C6", "C6"), ("Cm6", "Cm6"), ("C9", "C9"), ("Cadd9", "Cadd9"), ("C/E", "C/E"), ("C+", "Caug"),
        ("C7+", "Caug7"), ("C69", "C6/9"), ("C7sus", "C7sus4"), ("C9sus", "C9sus4"), ("C13sus", "C13sus4"),
        ("CmM7", "Cm(maj7)"), ("C7(b9)", "C7b9"), ("C7b9#11", "C7(b9,#11)"), ("C13b9", "C13b9"), ("C5", "C5"),
        ("C(b5)", "C(b5)"), ("C(#11)", "C(#11)"), ("Cno3", "Cno3"), ("F♯m7/E", "F#m7/E"), ("B♭", "Bb"),
        ("Cm(add9)", "Cmadd9"), ("C7alt", "Caug7#9"), ("Cmaj7sus2", "Cmaj7sus2"), ("Co(maj7)", "Cdimaddmaj7"),
    ],
)  # fmt: skip
def test_a_chord_is_printed_in_its_standard_form(chord: str, printed: str) -> None:
    assert write_chord_symbol(understood(chord)) == printed


roots = st.builds(PitchName, st.sampled_from(list(Step)), st.integers(-2, 2))
degrees = st.builds(
    Degree,
    st.sampled_from([2, 4, 5, 6, 7, 9, 11, 13]),
    st.integers(-1, 1),
    st.sampled_from(list(DegreeChange)),
)


@given(roots, st.sampled_from(list(KIND_DEGREES)), st.none() | roots)
def test_every_kind_is_read_back_from_its_printed_form(
    root: PitchName, kind: str, bass: PitchName | None
) -> None:
    chord = Chord(root=root, kind=kind, bass=None if bass == root else bass)
    again = understood(write_chord_symbol(chord))
    assert (again.root, again.kind, again.degrees, again.bass) == (root, kind, (), chord.bass)


@given(
    roots,
    st.sampled_from(list(KIND_DEGREES)),
    st.lists(degrees, max_size=3, unique_by=lambda degree: degree.value),
)
def test_every_chord_keeps_its_tones_through_its_printed_form(
    root: PitchName, kind: str, changes: list[Degree]
) -> None:
    chord = Chord(root=root, kind=kind, degrees=tuple(changes))
    again = understood(write_chord_symbol(chord))
    assert set(chord_tones(again)) == set(chord_tones(chord)), write_chord_symbol(chord)


@given(st.text(alphabet="ABCDEFGabcdefg#b♭♯mM7913561+-°øΔ^jno()susadilt/, ", max_size=10))
def test_what_was_read_keeps_its_tones_through_its_printed_form(text: str) -> None:
    reading = read_chord_symbol(text)
    if reading and reading.chord:
        again = understood(write_chord_symbol(reading.chord))
        assert set(chord_tones(again)) == set(chord_tones(reading.chord)), write_chord_symbol(reading.chord)


@given(st.text(max_size=30))
def test_no_text_breaks_the_reader(text: str) -> None:
    assert describe_unread_chord(text)
    reading = read_chord_symbol(text)
    assert reading is None or len(reading.ignored) <= len(text)
