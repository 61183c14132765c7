"""Guitar music in MusicXML: every voice, what is written of the hands, and the sounding pitch.

Sources are named beside the checks; music21 (a library of its own) builds files from outside.
"""

import re
from fractions import Fraction
from typing import Any

import music21
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from apoyando.model.arrangement import Role
from apoyando.model.errors import SongError, UnreadableSongError
from apoyando.model.hand import Finger, Pluck
from apoyando.model.instrument import DROP_D_TUNING
from apoyando.model.score import NOTHING_GIVEN, Given, Score
from apoyando.model.song import Barline
from apoyando.reading import read_score
from builders import make_pitch
from reading import musicxml_examples as xml

M21: Any = music21
"""Without types: it is used to build files and nothing else."""
FOUR_FOUR = xml.FOUR_FOUR
BACK = "<backup><duration>{}</duration></backup>"


def read(text: str | bytes) -> Score:
    return read_score(text if isinstance(text, bytes) else text.encode(), "study.musicxml")


def read_bar(content: str, attributes: str = FOUR_FOUR) -> Score:
    return read(xml.score(xml.measure(attributes + content)))


def technical(inside: str) -> str:
    return f"<notations><technical>{inside}</technical></notations>"


def in_voice(voice: int) -> str:
    return f"<voice>{voice}</voice>"


def pitches(score: Score) -> list[str]:
    return [str(one.pitch) for one in score.notes]


def shape(score: Score) -> list[tuple[Any, ...]]:
    """Pitch, voice, onset and duration of each note."""
    return [(str(one.pitch), one.voice, one.onset, one.duration) for one in score.notes]


def reads_or_explains(data: bytes) -> None:
    try:
        result: object = read(data).notes
    except SongError as error:
        result = error.problems
    assert result


# Heading.


@pytest.mark.parametrize(
    ("printed", "arranger", "is_arranged"),
    [
        ("arr. A. Player", "A. Player", False),
        ("Arranged by: A. Player", "A. Player", False),
        ("Arranged for solo guitar by A. Player", "A. Player", False),
        ("Arrieta", "Arrieta", False),
        ("Arranger", "", False),
        ("Arr. for guitar", "", True),
    ],
)
def test_who_arranged_a_score_is_read_from_what_it_prints(
    printed: str, arranger: str, is_arranged: bool
) -> None:
    """MusicXML 4.0, ``credit``; how it is worded: common practice, no source."""
    credit = f"<credit><credit-type>arranger</credit-type><credit-words>{printed}</credit-words></credit>"
    bar = xml.measure(FOUR_FOUR + xml.note("C4", 4))
    score = read(xml.score(bar, heading=credit))
    assert (score.arranger, score.is_arranged) == (arranger, is_arranged)
    creator = '<identification><creator type="arranger">B. Player</creator></identification>'
    assert read(xml.score(bar, heading=creator + credit)).arranger == "B. Player"


def texts(score: Score) -> list[str]:
    return [remark.text for remark in score.remarks]


# Voices.


def test_every_voice_and_every_note_of_a_chord_is_read() -> None:
    score = read_bar(
        xml.note("E4", 4, in_voice(1))
        + xml.stacked("G4", 4)
        + xml.note("F4", 4, in_voice(1))
        + BACK.format(8)
        + xml.note("C3", 8, in_voice(2))
    )

    assert shape(score) == [
        ("G4", 1, 0, 2),
        ("E4", 1, 0, 2),
        ("C3", 2, 0, 4),
        ("F4", 1, 2, 2),
    ]


def test_tied_notes_are_one_note_also_across_the_barline_and_in_chords() -> None:
    start, stop = '<tie type="start"/>', '<tie type="stop"/>'
    low = "<note><chord/><pitch><step>C</step><octave>4</octave></pitch><duration>8</duration>{}<voice>1</voice></note>"
    first = xml.note("E4", 8, start) + low.format(start)
    second = xml.note("E4", 4, stop) + low.replace(">8<", ">4<").format(stop) + xml.note("z", 4)
    score = read(xml.score(xml.measure(FOUR_FOUR + first) + xml.measure(second, 2)))

    assert shape(score) == [("E4", 1, 0, 6), ("C4", 1, 0, 6)]


def test_notes_of_one_pitch_in_two_voices_stay_two_notes() -> None:
    score = read_bar(xml.note("E3", 2) + BACK.format(2) + xml.note("E3", 8, in_voice(2)))

    assert shape(score) == [("E3", 1, 0, 1), ("E3", 2, 0, 4)]


def test_a_voice_that_holds_more_than_the_last_bar_is_cut_with_a_word() -> None:
    score = read_bar(xml.note("E4", 8) + BACK.format(4) + xml.note("C3", 8, in_voice(2)))

    assert max(one.offset for one in score.notes) <= score.duration


# What is written of the hands (W3C MusicXML 4.0, element technical).


@pytest.mark.parametrize(
    ("inside", "expected"),
    [
        ("<string>2</string><fret>5</fret>", Given(string=2, fret=5)),  # type: ignore[arg-type]
        ("<fingering>4</fingering>", Given(finger=Finger.LITTLE)),
        ("<fingering>0</fingering>", Given(finger=Finger.OPEN)),
        ("<pluck>p</pluck>", Given(pluck=Pluck.P)),
        ("<fingering>-2</fingering>", Given(finger=Finger.MIDDLE, is_guided=True)),
        (
            "<fingering>2</fingering><other-technical>guide finger</other-technical>",
            Given(finger=Finger.MIDDLE, is_guided=True),
        ),
        ("<fingering>4-3</fingering>", Given(finger=Finger.LITTLE)),
        ("<string>9</string><fret>99</fret><fingering>T</fingering><pluck>x</pluck>", NOTHING_GIVEN),
        ("<fingering>12</fingering>", NOTHING_GIVEN),
        ("<string>-1</string><fret>-3</fret>", NOTHING_GIVEN),
    ],
)
def test_string_fret_finger_and_pluck_come_with_the_note(inside: str, expected: Given) -> None:
    assert read_bar(xml.note("E4", 8, technical(inside))).notes[0].given == expected


@pytest.mark.parametrize(
    ("inside", "told"),
    [
        ("<string>7</string><fret>3</fret>", ["The guitar has no string 7: left out at E4."]),
        ("<string>0</string><fret>99</fret>", ["The guitar has no string 0 and fret 99: left out at E4."]),
        ("<string>6</string><fret>0</fret>", []),
        ("<fingering>5</fingering>", []),
    ],
)
def test_a_string_or_a_fret_that_the_guitar_does_not_have_is_told(inside: str, told: list[str]) -> None:
    assert texts(read_bar(xml.note("E4", 8, technical(inside)))) == told


@pytest.mark.parametrize(
    ("text", "role"),
    [("bass", Role.BASS), ("inner", Role.INNER), ("melody", Role.MELODY), ("something", None), ("", None)],
)
def test_the_part_of_a_note_is_read_where_the_file_names_it(text: str, role: Role | None) -> None:
    """MusicXML 4.0, ``other-notation``: any text; the names of the parts are our own."""
    inside = f'<notations><other-notation type="single">{text}</other-notation></notations>'
    assert read_bar(xml.note("E4", 8, inside)).notes[0].role is role


HARMONIC = "<harmonic><natural/></harmonic>"


def at_place(string: int, fret: int, harmonic: str = HARMONIC) -> str:
    return technical(f"<string>{string}</string><fret>{fret}</fret>{harmonic}")


def harmonics(score: Score) -> list[str]:
    return [str(note.pitch) for note in score.notes if note.is_harmonic]


def test_a_natural_harmonic_is_read_at_the_pitch_that_sounds() -> None:
    """W3C MusicXML 4.0, element harmonic. Fret 7 of string 5 sounds an octave and a fifth above A2."""
    score = read_bar(xml.note("E4", 8, at_place(5, 7)))
    assert harmonics(score) == ["E4"]
    assert (score.notes[0].given.string, score.notes[0].given.fret) == (5, 7)
    assert texts(score) == []


@pytest.mark.parametrize(
    ("written", "string", "fret", "sounding"),
    [
        ("B4", 1, 7, "B5"),
        ("C4", 3, 5, "G5"),
        ("E5", 1, 12, "E5"),
        ("F#4", 4, 4 + 12, "F#5"),
        ("F#3", 4, 4, "F#5"),
    ],
)
def test_one_that_is_written_where_it_is_touched_is_moved_to_what_sounds(
    written: str, string: int, fret: int, sounding: str
) -> None:
    """W3C MusicXML 4.0, element touching-pitch: some scores write the pitch that would be stopped there."""
    score = read_bar(xml.note(written, 8, at_place(string, fret)))
    assert harmonics(score) == [sounding]
    told = [f"The harmonic {written} is read at the pitch that sounds, {sounding}."]
    assert texts(score) == ([] if written == sounding else told)


def test_a_harmonic_without_a_place_needs_a_string_that_has_it() -> None:
    assert harmonics(read_bar(xml.note("E4", 8, technical(HARMONIC)))) == ["E4"]
    score = read_bar(xml.note("C4", 8, technical(HARMONIC)))
    assert harmonics(score) == []
    assert texts(score) == ["No string has the harmonic C4: it is read as an ordinary note."]


def test_a_harmonic_at_a_place_that_has_none_is_an_ordinary_note_with_a_word() -> None:
    score = read_bar(xml.note("C4", 8, at_place(2, 1)))
    assert harmonics(score) == []
    assert texts(score) == ["No string has the harmonic C4: it is read as an ordinary note."]


@pytest.mark.parametrize("inside", ["<artificial/>", "<artificial/><base-pitch/>", "<natural/><base-pitch/>"])
def test_an_artificial_harmonic_is_read_as_an_ordinary_note_with_a_word(inside: str) -> None:
    score = read_bar(xml.note("E4", 8, technical(f"<harmonic>{inside}</harmonic>")))
    assert pitches(score) == ["E4"]
    assert harmonics(score) == []
    assert texts(score) == ["The artificial harmonic E4 is read as an ordinary note."]


def test_a_hairpin_is_not_carried_over_and_said_so_while_dynamics_stay() -> None:
    """W3C MusicXML 4.0, element wedge."""
    marks = "<direction><direction-type>{0}</direction-type></direction>"
    swell = marks.format('<wedge type="diminuendo"/>') + marks.format("<dynamics><f/></dynamics>")
    score = read_bar(swell + xml.note("E4", 8))
    assert [str(dynamic.loudness) for dynamic in score.dynamics] == ["f"]
    assert texts(score) == ["Signs of expression are not carried over: diminuendo (bar 1)."]


def test_a_dynamic_that_is_not_usual_is_named() -> None:
    """W3C MusicXML 4.0, elements dynamics, other-dynamics."""
    loud = "<direction><direction-type><dynamics><{0}/><other-dynamics>al niente</other-dynamics></dynamics>"
    score = read_bar(loud.format("ff") + "</direction-type></direction>" + xml.note("E4", 8))
    assert [str(dynamic.loudness) for dynamic in score.dynamics] == ["ff"]
    assert texts(score) == ["The dynamic “al niente” is not carried over."]


def test_the_sign_before_a_repeat_is_no_double_bar() -> None:
    """W3C MusicXML 4.0: ``heavy-light`` is how a repeat begins."""
    repeat = (
        '<barline location="left"><bar-style>heavy-light</bar-style><repeat direction="forward"/></barline>'
    )
    score = read(
        xml.score(xml.measure(FOUR_FOUR + xml.note("E4", 8)) + xml.measure(repeat + xml.note("E4", 8), 2))
    )
    assert score.bars[1].starts_repeat
    assert score.bars[0].barline is Barline.REGULAR


def test_tablature_under_the_staff_tells_the_places_of_its_notes() -> None:
    """Two staves, the lower one with a TAB clef (W3C MusicXML 4.0, element clef)."""
    attributes = (
        "<attributes><divisions>2</divisions><staves>2</staves>"
        '<clef number="1"><sign>G</sign></clef><clef number="2"><sign>TAB</sign></clef></attributes>'
    )
    tab = technical("<string>2</string><fret>5</fret>")
    score = read_bar(
        xml.note("E4", 8, technical("<fingering>4</fingering>") + "<staff>1</staff>")
        + BACK.format(8)
        + xml.note("E4", 8, in_voice(5) + "<staff>2</staff>" + tab),
        attributes,
    )

    assert len(score.notes) == 1
    assert score.notes[0].given == Given(string=2, fret=5, finger=Finger.LITTLE)  # type: ignore[arg-type]
    assert score.has_tablature


def test_tablature_alone_is_music() -> None:
    attributes = "<attributes><divisions>2</divisions><clef><sign>TAB</sign></clef></attributes>"
    place = technical("<string>1</string><fret>3</fret>")
    score = read_bar(xml.note("G4", 8, place), attributes)

    assert pitches(score) == ["G4"]
    assert score.has_tablature
    assert not read_bar(xml.note("G4", 8, place)).has_tablature


# The sounding pitch.


def test_a_clef_with_an_octave_under_it_does_not_move_the_pitch() -> None:
    """MusicXML's pitch is the sounding one, whatever octave the clef is drawn with (element clef-octave-change)."""
    attributes = (
        "<attributes><divisions>2</divisions>"
        "<clef><sign>G</sign><line>2</line><clef-octave-change>-1</clef-octave-change></clef></attributes>"
    )

    assert pitches(read_bar(xml.note("E2", 8), attributes)) == ["E2"]


def test_a_part_that_transposes_by_an_octave_sounds_an_octave_lower() -> None:
    """Element transpose: from the written to the sounding pitch."""
    attributes = (
        "<attributes><divisions>2</divisions>"
        "<transpose><chromatic>0</chromatic><octave-change>-1</octave-change></transpose></attributes>"
    )

    assert pitches(read_bar(xml.note("E3", 8), attributes)) == ["E2"]


def test_a_score_saved_an_octave_off_is_put_right_by_its_strings_and_frets() -> None:
    places = technical("<string>6</string><fret>3</fret>")
    score = read_bar(xml.note("G3", 8, places))

    assert pitches(score) == ["G2"]
    assert texts(score) == ["The strings and frets sound an octave lower than the notes: read so."]


def test_what_a_part_transposes_for_its_capo_is_taken_back() -> None:
    """The page under a capo is as fingered: a C shape that sounds D."""
    attributes = (
        "<attributes><divisions>2</divisions><key><fifths>0</fifths></key>"
        "<staff-details><capo>2</capo></staff-details>"
        "<transpose><diatonic>1</diatonic><chromatic>2</chromatic></transpose></attributes>"
    )
    score = read_bar(xml.chord("C") + xml.note("C3", 8), attributes)

    assert (score.capo, pitches(score), str(score.key)) == (2, ["C3"], "C major")
    assert score.harmony[0].chord is not None
    assert str(score.harmony[0].chord.root) == "C"


LOW_D = "<tuning-step>D</tuning-step><tuning-octave>2</tuning-octave>"
LOW_D_ACCORD = (
    "<direction><direction-type><scordatura>"
    f"<accord string='6'>{LOW_D}</accord></scordatura></direction-type></direction>"
)
LOW_D_LINE = (
    "<attributes><divisions>2</divisions><staff-details>"
    f"<staff-tuning line='1'>{LOW_D}</staff-tuning></staff-details></attributes>"
)


@pytest.mark.parametrize(
    "written",
    [
        FOUR_FOUR + LOW_D_ACCORD,
        LOW_D_LINE,
    ],
)
def test_a_written_tuning_is_known(written: str) -> None:
    """Accords count strings from the top, lines of a staff are counted from the bottom (MusicXML 4.0)."""
    assert read_bar(xml.note("D2", 8), written).tuning == DROP_D_TUNING


def test_a_tuning_that_is_not_known_is_remarked_on() -> None:
    accord = (
        "<direction><direction-type><scordatura><accord string='1'><tuning-step>D</tuning-step>"
        "<tuning-octave>4</tuning-octave></accord></scordatura></direction-type></direction>"
    )
    score = read_bar(accord + xml.note("D4", 8))

    assert score.tuning is None
    assert texts(score) == ["The tuning that is written is not known; known are: standard, drop-d."]


# Which part.


def named(*names: str) -> str:
    parts = [xml.measure(FOUR_FOUR + xml.note(pitch, 8)) for pitch in ("E4", "C3", "G3")[: len(names)]]
    text = xml.score(*parts)
    for name in names:
        text = text.replace("<part-name/>", f"<part-name>{name}</part-name>", 1)
    return text


@pytest.mark.parametrize("name", ["Classical Guitar", "Gitarre", "Guitarra", "Guitare", "Chitarra", "Violão"])
def test_among_several_parts_the_one_called_a_guitar_is_read(name: str) -> None:
    score = read(named("Voice", name))

    assert pitches(score) == ["C3"]
    assert texts(score) == [f"The part “{name}” is read; left out: “Voice”."]


def test_where_no_part_is_called_a_guitar_all_are_voices_of_one() -> None:
    score = read(named("Soprano", "Bass"))

    assert pitches(score) == ["E4", "C3"]
    assert [one.voice for one in score.notes] == [1, 2]
    assert texts(score) == ["No part is called a guitar: all are read as voices of one (“Soprano”, “Bass”)."]


# Files from outside.


def built_by_music21() -> bytes:
    """Two voices, a chord with fingers, a tie: exported by music21."""
    upper, lower = M21.stream.Voice(id="1"), M21.stream.Voice(id="2")
    first = M21.note.Note("E4", quarterLength=1)
    first.articulations = [M21.articulations.Fingering(0), M21.articulations.StringIndication(1)]
    second = M21.chord.Chord(["G3", "C4"], quarterLength=1)
    held, on = M21.note.Note("D4", quarterLength=1), M21.note.Note("D4", quarterLength=1)
    held.tie, on.tie = M21.tie.Tie("start"), M21.tie.Tie("stop")
    upper.append([first, second, held, on])
    low = M21.note.Note("C3", quarterLength=4)
    low.articulations = [M21.articulations.Fingering(3), M21.articulations.FretIndication(3)]
    lower.append(low)
    bar = M21.stream.Measure(number=1)
    bar.insert(0, M21.clef.Treble8vbClef())
    bar.insert(0, M21.meter.TimeSignature("4/4"))
    bar.insert(0, upper)
    bar.insert(0, lower)
    part = M21.stream.Part([bar])
    exported: bytes = M21.musicxml.m21ToXml.GeneralObjectExporter(M21.stream.Score([part])).parse()
    return exported


def test_a_file_built_by_music21_is_read_as_it_was_built() -> None:
    score = read(built_by_music21())

    assert shape(score) == [
        ("E4", 1, 0, 1),
        ("C3", 2, 0, 4),
        ("C4", 1, 1, 1),
        ("G3", 1, 1, 1),
        ("D4", 1, 2, 2),
    ]
    assert score.notes[0].given == Given(finger=Finger.OPEN, string=1)  # type: ignore[arg-type]
    assert score.notes[1].given == Given(finger=Finger.RING, fret=3)  # type: ignore[arg-type]


SOR = xml.score(
    xml.measure(
        "<attributes><divisions>2</divisions><key><fifths>0</fifths></key>"
        "<time><beats>3</beats><beat-type>4</beat-type></time></attributes>"
        + xml.note("E4", 2)
        + xml.note("D4", 2)
        + xml.note("C4", 2)
        + BACK.format(6)
        + xml.note("C3", 6, in_voice(2))
    )
    + xml.measure(xml.note("B3", 4) + xml.note("z", 2) + BACK.format(6) + xml.note("G3", 6, in_voice(2)), 2)
)


def test_rests_take_time_and_are_no_notes() -> None:
    score = read(SOR)

    assert [str(one.onset) for one in score.in_voice(1)] == ["0", "1", "2", "3"]
    assert score.duration == Fraction(6)
    assert score.voices == (1, 2)


def test_without_its_fingering_a_score_keeps_all_else() -> None:
    score = read(built_by_music21())
    bare = score.without_fingering()

    assert all(one.given == NOTHING_GIVEN for one in bare.notes)
    assert pitches(bare) == pitches(score)
    assert bare.notes[0].pitch == make_pitch("E4")


# Trouble.


@pytest.mark.parametrize(
    ("data", "message"),
    [
        (b"", "The file is empty"),
        (b"X:1\nK:C\nCDEF|\n", "The file is ABC, and a score for guitar is needed"),
        (b"%PDF-1.7", "a PDF"),
        (b"Dear Sir", "neither MusicXML nor ABC nor MIDI"),
        (xml.score(xml.measure(FOUR_FOUR + xml.note("z", 8))).encode(), "There are no notes in it"),
        (xml.score().encode(), "The score is empty"),
        (
            xml.score(xml.measure(FOUR_FOUR + "<note><pitch><step>H</step></pitch></note>")).encode(),
            "bar 1, beat 1",
        ),
    ],
)
def test_what_is_no_score_is_said_to_be_none_with_what_to_bring(data: bytes, message: str) -> None:
    with pytest.raises(UnreadableSongError, match=re.escape(message)):
        read_score(data, "study")


NUMBERS = st.sampled_from(["0", "-1", "7", "99999999999", "1e9", "x", ""])


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.data())
def test_a_number_of_a_score_replaced_by_another_gives_a_score_or_a_message(data: st.DataObject) -> None:
    text = built_by_music21().decode()
    places = list(re.finditer(r">(-?\d+)<", text))
    place = data.draw(st.sampled_from(places))
    changed = text[: place.start(1)] + data.draw(NUMBERS) + text[place.end(1) :]
    reads_or_explains(changed.encode())


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.data())
def test_a_score_cut_anywhere_gives_a_score_or_a_message(data: st.DataObject) -> None:
    whole = built_by_music21()
    reads_or_explains(whole[: data.draw(st.integers(0, len(whole)))])
