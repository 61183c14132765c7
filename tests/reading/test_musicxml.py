"""MusicXML as scores in the wild have it; names of elements as in W3C MusicXML 4.0."""

from fractions import Fraction

import pytest

from apoyando.model.errors import MissingHarmonyError, UnreadableSongError
from apoyando.model.harmony import chord_tones
from apoyando.model.pitch import Key, Mode
from apoyando.model.song import Barline, Jump, Meter
from apoyando.reading import read_song
from reading.abc_examples import chords, lengths, pitches, remarks, words
from reading.musicxml_examples import (
    FOUR_FOUR,
    chord,
    compressed,
    measure,
    note,
    packed,
    read_score_text,
    score,
    song_of,
    stacked,
)

BAR = note("C4", 8)


def direction(inside: str, after: str = "") -> str:
    return f"<direction><direction-type>{inside}</direction-type>{after}</direction>"


def words_above(text: str, after: str = "") -> str:
    return direction(f"<words>{text}</words>", after)


def ending(number: str, kind: str, side: str, repeat: str = "") -> str:
    return f'<barline location="{side}"><ending number="{number}" type="{kind}"/>{repeat}</barline>'


def barline(side: str, inside: str = "", **attributes: str) -> str:
    more = "".join(f' {name}="{value}"' for name, value in attributes.items())
    return f'<barline location="{side}"{more}>{inside}</barline>'


REPEAT_END = '<repeat direction="backward"/>'
REPEAT_START = '<barline location="left"><repeat direction="forward"/></barline>'


# --- the container and the heading --------------------------------------------------------


def test_in_an_archive_what_is_no_song_is_passed_over() -> None:
    """A picture named before the score, and what a system keeps beside each file that it packs."""
    plain = song_of(chord("C") + BAR)
    text = score(measure(FOUR_FOUR + chord("C") + BAR)).encode()
    roots = '<rootfile full-path="page.pdf"/><rootfile full-path="score.xml"/>'
    container = f"<container><rootfiles>{roots}</rootfiles></container>".encode()
    named = packed(("META-INF/container.xml", container), ("page.pdf", b"%PDF"), ("score.xml", text))
    assert read_song(named, "a.mxl").melody == plain.melody
    loose = packed(("__MACOSX/._score.xml", b"\0\5"), ("._score.xml", b"\0\5"), ("score.xml", text))
    assert read_song(loose, "a.mxl").melody == plain.melody


def test_a_compressed_score_is_found_by_its_container_or_without_one() -> None:
    text = score(measure(FOUR_FOUR + chord("C") + BAR))
    plain = read_song(text.encode(), "a.musicxml")
    assert read_song(compressed(text, "music/score.xml"), "a.mxl").melody == plain.melody
    assert read_song(packed(("song.musicxml", text.encode())), "a.mxl").melody == plain.melody
    assert read_song(compressed(text), "wrongly-named.xml").melody == plain.melody


@pytest.mark.parametrize("encoding", ["UTF-8", "UTF-8-SIG", "UTF-16", "ISO-8859-1", "windows-1252"])
def test_the_encodings_of_xml_are_read(encoding: str) -> None:
    text = score(
        measure(FOUR_FOUR + chord("C") + BAR), heading="<work><work-title>Für Ännchen</work-title></work>"
    )
    declared = text.replace("UTF-8", encoding.replace("-SIG", ""), 1)
    song = read_song(declared.encode(encoding), "a.xml")
    assert song.title == "Für Ännchen"
    assert song.remarks == ()


def test_latin_1_that_claims_to_be_utf_8_is_read_with_a_remark() -> None:
    text = score(measure(FOUR_FOUR + chord("C") + BAR), heading="<work><work-title>Für</work-title></work>")
    song = read_song(text.encode("latin-1"), "a.xml")
    assert song.title == "Für"
    assert "Latin-1" in remarks(song)


def test_a_doctype_is_accepted_and_never_fetched() -> None:
    assert "www.musicxml.org" in score(measure(BAR))
    assert read_score_text(score(measure(BAR))).melody


SMALL_AND_LARGE = (
    '<credit page="1"><credit-words font-size="10">Small</credit-words></credit>'
    '<credit page="1"><credit-words font-size="24">Large</credit-words></credit>'
)


@pytest.mark.parametrize(
    ("heading", "title"),
    [
        ("<work><work-title>Work</work-title></work><movement-title>Movement</movement-title>", "Work"),
        ("<movement-title>Movement</movement-title>", "Movement"),
        ('<credit page="1"><credit-type>title</credit-type><credit-words>Credit</credit-words></credit>', "Credit"),
        (SMALL_AND_LARGE, "Large"),
        ("<work><work-title>Untitled score</work-title></work>", "test"),
        ("", "test"),
    ],
)  # fmt: skip
def test_the_title_is_looked_for_in_the_order_of_trust(heading: str, title: str) -> None:
    assert read_score_text(score(measure(BAR), heading=heading)).title == title


def test_composer_lyricist_and_rights() -> None:
    heading = (
        "<identification><creator type='composer'>A. Composer</creator><creator type='lyricist'>A. Poet</creator>"
        "<creator/><rights>Public domain</rights></identification>"
    )
    song = read_score_text(score(measure(BAR), heading=heading))
    assert (song.composer, song.lyricist, song.rights) == ("A. Composer", "A. Poet", "Public domain")


def test_a_timewise_score_is_read_like_a_partwise_one() -> None:
    bars = (FOUR_FOUR + chord("C") + BAR, note("D4", 8))
    partwise = score("".join(measure(text, n) for n, text in enumerate(bars, 1)))
    turned = "".join(
        f'<measure number="{n}"><part id="P1">{text}</part></measure>' for n, text in enumerate(bars, 1)
    )
    timewise = f"<score-timewise><part-list/>{turned}</score-timewise>"
    assert read_score_text(timewise).melody == read_score_text(partwise).melody


def test_a_namespace_does_not_hide_the_score() -> None:
    text = score(measure(BAR)).replace("<score-partwise", '<score-partwise xmlns="http://example.org/music"')
    assert pitches(read_score_text(text)) == "C4"


# --- notes --------------------------------------------------------------------------------


def test_notes_rests_and_accidentals() -> None:
    song = song_of(note("C4", 2) + note("z", 2) + note("F#5", 1) + note("Bb3", 3))
    assert pitches(song) == "C4 F#5 Bb3"
    assert [(n.onset, n.duration) for n in song.melody] == [
        (0, 1),
        (2, Fraction(1, 2)),
        (Fraction(5, 2), Fraction(3, 2)),
    ]


def test_tied_notes_are_one_note_within_and_across_bars() -> None:
    song = song_of(
        note("C4", 4) + note("D4", 4, '<tie type="start"/>'),
        note("D4", 2, '<tie type="stop"/><tie type="start"/>') + note("D4", 6, '<tie type="stop"/>'),
    )
    assert lengths(song) == [2, 6]


def test_a_tie_written_as_a_mere_sign_counts_too() -> None:
    song = song_of(
        note("C4", 4, "<notations><tied type='start'/></notations>")
        + note("C4", 4, "<notations><tied type='stop'/></notations>")
    )
    assert lengths(song) == [4]


def test_a_tie_out_of_a_first_ending_is_no_tie_into_the_second() -> None:
    song = song_of(
        BAR,
        ending("1", "start", "left")
        + note("E4", 8, '<tie type="start"/>')
        + ending("1", "stop", "right", REPEAT_END),
        ending("2", "start", "left") + note("E4", 8) + ending("2", "stop", "right"),
    )
    assert lengths(song) == [4, 4, 4]
    assert remarks(song) == (
        "2: A tie over a repeat or a jump is left out: the next note is struck anew (bar 2, beat 1)."
    )


def test_a_tie_that_leads_to_no_note_is_told_with_bar_and_beat() -> None:
    tied = '<tie type="start"/>'
    song = song_of(note("C4", 2) + note("D4", 6, tied), note("C4", 6) + note("C4", 2, tied))
    assert remarks(song) == (
        "1: A tie leads to no note of the same pitch and is left out (bar 1, beat 2; bar 2, beat 4)."
    )


def test_many_ties_that_lead_to_no_note_are_told_by_their_bars() -> None:
    bar = "".join(note(pitch, 2, '<tie type="start"/>') for pitch in ("C4", "D4", "C4", "D4"))
    assert remarks(song_of(bar, bar, bar)).endswith("is left out (bars 1–3).")


def test_an_open_tie_in_a_song_is_told_with_bar_and_beat() -> None:
    """MusicXML 4.0: a ``tied`` of type let-ring; a score for guitar keeps it."""
    ringing = "<notations><tied type='let-ring'/></notations>"
    song = song_of(note("C4", 2) + note("D4", 6, ringing))
    assert lengths(song) == [1, 3]
    assert remarks(song) == "1: An open tie (let ring) in a song is left out (bar 1, beat 2)."


def test_of_stacked_notes_the_top_one_is_the_melody() -> None:
    song = song_of(note("C4", 4) + stacked("E4", 4) + stacked("G4", 4) + note("A4", 4) + stacked("F4", 4))
    assert pitches(song) == "G4 A4"
    assert "bar 1" in remarks(song)


@pytest.mark.parametrize(
    ("second", "melody", "left_out"), [("C3", "G4 G4", "1–3"), ("E4", "G4 E4 G4", "1, 3")]
)
def test_where_the_melody_rests_a_bass_does_not_sing_on_but_the_other_voice_of_a_duet_does(
    second: str, melody: str, left_out: str
) -> None:
    lower = "<backup><duration>8</duration></backup>" + note(second, 8, "<voice>2</voice>")
    song = song_of(*(note(upper, 8) + lower for upper in ("G4", "z", "G4")))
    assert pitches(song) == melody
    assert f"1: Notes of another voice under the melody are left out (bars {left_out})." in remarks(song)


def test_of_two_voices_the_higher_one_is_the_melody_bar_by_bar() -> None:
    low = "<backup><duration>8</duration></backup>" + note("C4", 8, "<voice>2</voice>")
    high = "<backup><duration>8</duration></backup>" + note("A5", 8, "<voice>2</voice>")
    song = song_of(note("E4", 8) + low, note("F4", 8) + high, note("z", 8) + low)
    assert pitches(song) == "E4 A5 C4"
    assert "(bars 1–2)" in remarks(song)


def test_overlapping_notes_of_one_voice_give_way_to_the_higher() -> None:
    song = song_of(
        note("C4", 8) + "<backup><duration>4</duration></backup>" + note("E4", 4),
        note("E4", 8) + "<backup><duration>4</duration></backup>" + note("C4", 4),
    )
    assert pitches(song) == "C4 E4 E4"
    assert lengths(song) == [2, 2, 4]
    assert "overlap" in remarks(song)


def test_a_grace_note_is_left_out_with_a_remark_each() -> None:
    grace = "<note><grace/><pitch><step>D</step><octave>5</octave></pitch></note>"
    song = song_of(grace + grace + note("C5", 8), grace + note("C5", 8))
    assert lengths(song) == [4, 4]
    assert remarks(song) == "1: The grace note D5 is left out.\n2: The grace note D5 is left out."


@pytest.mark.parametrize(
    ("odd", "why"),
    [
        (note("C5", 4, "<cue/>"), "it is a cue"),
        (note("B4", 4, "<notehead>slash</notehead>"), "slash"),
        (note("C5", 4, attributes=' print-object="no"'), "hidden"),
    ],
)
def test_what_is_not_meant_to_be_sung_only_takes_its_time(odd: str, why: str) -> None:
    song = song_of(odd + note("C4", 4))
    assert pitches(song) == "C4"
    assert song.melody[0].onset == 2
    assert why in remarks(song)


def test_a_triplet_in_rounded_divisions_gets_its_true_length() -> None:
    modified = "<type>eighth</type><time-modification><actual-notes>3</actual-notes><normal-notes>2</normal-notes></time-modification>"
    attributes = FOUR_FOUR.replace("<divisions>2", "<divisions>256")
    triplet = note("C4", 85, modified) + note("D4", 85, modified) + note("E4", 86, modified)
    song = song_of(triplet + note("F4", 768), attributes=attributes)
    assert lengths(song) == [Fraction(1, 3)] * 3 + [3]
    assert song.remarks == ()


def test_a_note_without_length_is_left_out_with_a_remark() -> None:
    song = song_of(note("C4", 0) + BAR)
    assert lengths(song) == [4]
    assert "without length" in remarks(song)


def test_fermatas_stay() -> None:
    assert song_of(note("C4", 8, "<notations><fermata/></notations>")).melody[0].has_fermata


def test_lyrics_keep_verse_syllable_and_elision() -> None:
    lyric = (
        '<lyric number="1"><syllabic>begin</syllabic><text>won</text></lyric>'
        '<lyric number="part1verse2"><text>ne</text><elision/><text>am</text></lyric><lyric><extend/></lyric>'
    )
    song = song_of(note("C4", 8, lyric))
    assert [(one.verse, one.text, one.syllabic) for one in song.melody[0].lyrics] == [
        (1, "won", "begin"), (2, "ne am", "single"),
    ]  # fmt: skip
    assert words(song) == ["won-"]


def test_a_transposing_part_is_read_as_it_sounds_with_its_key_and_chords() -> None:
    clarinet = FOUR_FOUR.replace("<fifths>0", "<fifths>2").replace(
        "</time>", "</time><transpose><diatonic>-1</diatonic><chromatic>-2</chromatic></transpose>"
    )
    song = song_of(chord("D", "dominant", text="7") + note("F#4", 8), attributes=clarinet)
    assert song.key == Key(0)
    assert pitches(song) == "E4"
    assert str(song.harmony[0].chord and song.harmony[0].chord.root) == "C"


@pytest.mark.parametrize(
    ("transpose", "sounding"),
    [
        ("<chromatic>-9</chromatic>", "Eb3"),
        ("<diatonic>-5</diatonic><chromatic>-9</chromatic>", "Eb3"),
        ("<chromatic>0</chromatic><octave-change>-1</octave-change>", "C3"),
        ("<chromatic>-12</chromatic>", "C3"),
        ("<chromatic>7</chromatic>", "G4"),
    ],
)
def test_transpositions_with_and_without_staff_steps(transpose: str, sounding: str) -> None:
    attributes = FOUR_FOUR.replace("</time>", f"</time><transpose>{transpose}</transpose>")
    assert pitches(song_of(BAR, attributes=attributes)) == sounding


def test_an_octave_clef_changes_nothing_for_pitches_are_sounding_already() -> None:
    clef = "<clef><sign>G</sign><line>2</line><clef-octave-change>-1</clef-octave-change></clef>"
    assert pitches(song_of(BAR, attributes=FOUR_FOUR.replace("</time>", f"</time>{clef}"))) == "C4"


# --- keys, meters, tempo ------------------------------------------------------------------


def test_changes_of_key_and_meter_count_from_their_bar() -> None:
    change = (
        "<attributes><key><fifths>-3</fifths><mode>minor</mode></key>"
        "<time><beats>3</beats><beat-type>4</beat-type></time></attributes>"
    )
    song = song_of(BAR, change + note("C4", 6))
    assert [bar.key for bar in song.bars] == [Key(0), Key(-3, Mode.MINOR)]
    assert [str(bar.meter) for bar in song.bars] == ["4/4", "3/4"]


@pytest.mark.parametrize(
    ("time", "meter"),
    [
        ('<time symbol="common"><beats>4</beats><beat-type>4</beat-type></time>', Meter(4, 4, "common")),
        ('<time symbol="cut"><beats>2</beats><beat-type>2</beat-type></time>', Meter(2, 2, "cut")),
        ("<time><beats>3+2+3</beats><beat-type>8</beat-type></time>", Meter(8, 8, groups=(3, 2, 3))),
        (
            "<time><beats>3</beats><beat-type>4</beat-type><beats>2</beats><beat-type>8</beat-type></time>",
            Meter(8, 8, groups=(2, 2, 2, 2)),
        ),
        ("<time><beats>2+3</beats><beat-type>8</beat-type></time>", Meter(5, 8, groups=(2, 3))),
        ("<time><beats>5</beats><beat-type>8</beat-type></time>", Meter(5, 8)),
        ("<time><senza-misura/></time>", Meter(4, 4)),
    ],
)
def test_time_signatures(time: str, meter: Meter) -> None:
    attributes = f"<attributes><divisions>2</divisions>{time}</attributes>"
    assert song_of(BAR, attributes=attributes).bars[0].meter == meter


def test_a_change_inside_a_bar_counts_from_the_next_with_a_remark() -> None:
    change = "<attributes><key><fifths>1</fifths></key></attributes>"
    song = song_of(note("C4", 4) + change + note("C4", 4), BAR)
    assert [bar.key.fifths for bar in song.bars] == [0, 1]
    assert "key changes inside the bar" in remarks(song)


@pytest.mark.parametrize(
    ("marked", "tempo", "text"),
    [
        (
            direction("<metronome><beat-unit>quarter</beat-unit><per-minute>96</per-minute></metronome>"),
            96,
            "",
        ),
        (
            direction(
                "<metronome><beat-unit>quarter</beat-unit><beat-unit-dot/><per-minute>c. 60</per-minute></metronome>"
            ),
            90,
            "",
        ),
        (direction("<metronome><beat-unit>half</beat-unit><per-minute>50</per-minute></metronome>"), 100, ""),
        (words_above("Andante", '<sound tempo="72.5"/>'), Fraction(145, 2), "Andante"),
        ('<sound tempo="80"/>', 80, ""),
        (words_above("Slowly"), None, "Slowly"),
        (words_above("Andante con moto"), None, "Andante con moto"),
    ],
)
def test_tempo_in_quarters_per_minute(marked: str, tempo: Fraction | None, text: str) -> None:
    song = song_of(marked + BAR)
    assert (song.tempo_quarters_per_minute, song.tempo_words) == (tempo, text)
    assert song.remarks == ()


@pytest.mark.parametrize("number", ["0", "-5", "NaN", "4.9", "1001", "quick", "1" * 30])
def test_a_tempo_that_cannot_be_meant_is_left_out_and_told(number: str) -> None:
    mark = f"<metronome><beat-unit>quarter</beat-unit><per-minute>{number}</per-minute></metronome>"
    played = f'<sound tempo="{number}"/>'
    for song in (song_of(BAR, direction(mark) + BAR), song_of(BAR, played + BAR)):
        assert song.tempo_quarters_per_minute is None
        assert [(each.bar, each.text) for each in song.remarks] == [
            ("2", f"The tempo {number[:20]} cannot be meant and is left out.")
        ]


def test_a_mark_that_equates_two_note_values_is_no_tempo_and_nothing_odd() -> None:
    """W3C MusicXML 4.0, element metronome: beat-unit twice, as for a change of meter."""
    mark = "<metronome><beat-unit>quarter</beat-unit><beat-unit>half</beat-unit></metronome>"
    assert song_of(direction(mark) + BAR).remarks == ()


def test_signs_of_expression_are_told_once_with_their_bars() -> None:
    """W3C MusicXML 4.0, elements dynamics, wedge, ornaments, articulations."""
    loud = direction("<dynamics><mf/></dynamics>") + direction('<wedge type="crescendo"/>')
    end = direction('<wedge type="stop"/>')
    signs = "<notations><ornaments><trill-mark/></ornaments><articulations><staccato/></articulations></notations>"
    song = song_of(
        loud + BAR, note("C4", 4, signs) + note("C4", 4) + end, direction("<dynamics><p/></dynamics>") + BAR
    )
    assert [(each.bar, each.text) for each in song.remarks] == [
        (
            "1",
            "Signs of expression are not carried over: mf, crescendo, trill mark, staccato, p (bars 1–3).",
        )
    ]


def test_a_change_of_tempo_is_remarked_on() -> None:
    song = song_of('<sound tempo="80"/>' + BAR, '<sound tempo="120"/>' + BAR)
    assert song.tempo_quarters_per_minute == 80
    assert "Changes of tempo are not carried over (bar 2)" in remarks(song)


# --- bars ---------------------------------------------------------------------------------


def test_a_first_bar_that_is_too_short_is_a_pickup() -> None:
    text = score(
        measure(FOUR_FOUR + note("G4", 2), 0, ' implicit="yes"') + measure(BAR, 1) + measure(note("C4", 6), 2)
    )
    song = read_score_text(text)
    assert [(bar.number, bar.is_pickup) for bar in song.bars] == [("0", True), ("1", False), ("2", False)]
    assert song.bars[0].meter_phase == 3
    assert song.remarks == ()


@pytest.mark.parametrize(
    "hidden",
    [
        note("z", 6, attributes=' print-object="no"'),
        note("z", 4, attributes=' print-object="no"') + note("z", 2, attributes=' print-object="no"'),
        "<forward><duration>6</duration></forward>",
    ],
)
def test_invisible_time_before_a_pickup_is_no_time(hidden: str) -> None:
    song = song_of(hidden + chord("C") + note("G4", 2), BAR)
    assert song.bars[0].is_pickup
    assert song.bars[0].span.duration == 1
    assert [n.onset for n in song.melody] == [0, 1]
    assert chords(song) == [(0, "C")]


def test_a_visible_rest_before_the_first_note_is_a_rest() -> None:
    song = song_of(note("z", 6) + note("G4", 2), BAR)
    assert not song.bars[0].is_pickup
    assert song.melody[0].onset == 3


def test_an_empty_measure_is_a_bar_of_rest() -> None:
    song = song_of(BAR, "", BAR)
    assert [n.onset for n in song.melody] == [0, 8]


def test_a_bar_split_at_a_repeat_is_fine_and_other_short_bars_are_remarked_on() -> None:
    split = song_of(
        BAR, note("C4", 6) + f"<barline>{REPEAT_END}</barline>", REPEAT_START + note("G4", 2), BAR
    )
    assert split.remarks == ()
    short = song_of(BAR, note("C4", 6), BAR)
    assert "2: The bar holds 3 beats, less than its meter 4/4" in remarks(short)
    assert "2: The bar holds 1 beat, less" in remarks(song_of(BAR, note("C4", 2), BAR))
    long = song_of(BAR, note("C4", 10), BAR)
    assert "2: The bar holds 5 beats, more than its meter 4/4" in remarks(long)
    assert [bar.onset for bar in long.bars] == [0, 4, 9]


def test_a_bar_is_as_long_as_the_longest_part_has_it() -> None:
    attributes = FOUR_FOUR
    text = score(
        measure(attributes + chord("C") + note("C5", 4)) + measure(BAR, 2),
        measure(attributes + note("C3", 8)) + measure(note("C3", 8), 2),
    )
    song = read_score_text(text)
    assert [bar.span.duration for bar in song.bars] == [4, 4]


def test_a_part_that_rests_for_the_whole_of_a_pickup_leaves_it_as_short_as_it_is_sung() -> None:
    """A rest with measure="yes" is a complete measure, whatever the time signature (MusicXML 4.0, element rest)."""
    rest = '<note><rest measure="yes"/><duration>{}</duration></note>'
    resting = measure(FOUR_FOUR + rest.format(2)) + measure(rest.format(8), 2)
    singing = measure(FOUR_FOUR + note("G4", 2)) + measure(BAR, 2)
    song = read_score_text(score(resting, singing))
    assert [bar.span.duration for bar in song.bars] == [1, 4]
    assert song.bars[0].is_pickup


def test_a_repeat_sign_inside_a_bar_is_told() -> None:
    inside = '<barline location="middle"><repeat direction="backward"/></barline>'
    song = song_of(note("C4", 4) + inside + note("C4", 4), BAR)
    assert "1: A repeat sign inside the bar is left out: divide the bar in two there." in remarks(song)


def test_a_note_without_a_voice_is_in_the_first_one() -> None:
    bare = "<note><pitch><step>E</step><octave>4</octave></pitch><duration>4</duration></note>"
    assert pitches(song_of(bare + note("G4", 4))) == "E4 G4"


def test_where_the_first_staff_rests_throughout_the_second_one_sings() -> None:
    second = note("C4", 8, "<voice>5</voice><staff>2</staff>")
    assert pitches(song_of(note("z", 8) + "<backup><duration>8</duration></backup>" + second)) == "C4"


def test_printed_numbers_are_kept_and_odd_ones_are_explained() -> None:
    text = score(
        measure(FOUR_FOUR + BAR, 7)
        + measure(note("C4", 4), 8)
        + measure(note("C4", 4), "X1", ' implicit="yes"')
        + measure(BAR, 9)
    )
    assert [bar.number for bar in read_score_text(text).bars] == ["7", "8", "8b", "9"]


def test_numbers_that_do_not_tell_bars_apart_are_counted_anew() -> None:
    text = score(measure(FOUR_FOUR + BAR, 1) + measure(BAR, 1) + measure(BAR, 1))
    assert [bar.number for bar in read_score_text(text).bars] == ["1", "2", "3"]


# --- the form -----------------------------------------------------------------------------


def test_repeats_and_endings() -> None:
    song = song_of(
        REPEAT_START + BAR,
        ending("1, 2", "start", "left") + BAR + ending("1, 2", "stop", "right", REPEAT_END),
        ending("3", "start", "left") + BAR + ending("3", "discontinue", "right"),
        BAR,
    )
    assert [bar.starts_repeat for bar in song.bars] == [True, False, False, False]
    assert [bar.endings for bar in song.bars] == [(), (1, 2), (3,), ()]
    assert [bar.ending_stops for bar in song.bars] == [False, True, True, False]
    assert [bar.repeat_times for bar in song.bars] == [0, 3, 0, 0]


def test_three_endings_make_three_passes() -> None:
    song = song_of(
        BAR,
        *(ending(n, "start", "left") + BAR + ending(n, "stop", "right", REPEAT_END) for n in ("1", "2")),
        ending("3", "start", "left") + BAR + ending("3", "stop", "right"),
    )
    assert [bar.repeat_times for bar in song.bars] == [0, 3, 3, 0]


def test_an_ending_that_is_never_closed_ends_at_the_repeat_or_the_next_ending() -> None:
    song = song_of(
        BAR,
        ending("1", "start", "left") + BAR,
        BAR + f"<barline>{REPEAT_END}</barline>",
        ending("2", "start", "left") + BAR + "<barline><bar-style>light-heavy</bar-style></barline>",
        BAR,
    )
    assert [bar.endings for bar in song.bars] == [(), (1,), (1,), (2,), ()]
    assert [bar.ending_stops for bar in song.bars] == [False, False, True, True, False]


def test_a_repeat_may_say_how_often() -> None:
    song = song_of(BAR + '<barline><repeat direction="backward" times="4"/></barline>', BAR)
    assert song.bars[0].repeat_times == 4


def test_a_repeat_may_say_that_it_is_taken_after_a_jump_too() -> None:
    """MusicXML 4.0, ``repeat``: ``after-jump``."""
    song = song_of(
        BAR + '<barline><repeat direction="backward" after-jump="yes"/></barline>',
        BAR + '<barline><repeat direction="backward" after-jump="no"/></barline>',
        BAR + f"<barline>{REPEAT_END}</barline>",
    )
    assert [bar.repeats_after_jump for bar in song.bars] == [True, False, False]


@pytest.mark.parametrize(
    ("style", "barline"),
    [("light-light", Barline.DOUBLE), ("light-heavy", Barline.FINAL), ("regular", Barline.REGULAR)],
)
def test_barlines(style: str, barline: Barline) -> None:
    song = song_of(BAR + f"<barline><bar-style>{style}</bar-style></barline>", BAR)
    assert song.bars[0].barline is barline


def test_a_double_bar_written_at_the_left_of_a_bar_ends_the_bar_before() -> None:
    song = song_of(BAR, '<barline location="left"><bar-style>light-light</bar-style></barline>' + BAR)
    assert song.bars[0].barline is Barline.DOUBLE


@pytest.mark.parametrize(
    ("first", "second", "third", "jumps"),
    [
        (direction("<segno/>") + BAR, BAR + direction("<coda/>"), direction("<coda/>") + BAR,
         [(Jump.SEGNO,), (Jump.TO_CODA,), (Jump.CODA,)]),
        (BAR + words_above("To Coda"), BAR + words_above("D.C. al Coda"), direction("<coda/>") + BAR,
         [(Jump.TO_CODA,), (Jump.DA_CAPO,), (Jump.CODA,)]),
        (BAR + words_above("Fine"), BAR, BAR + words_above("D.C. al Fine"), [(Jump.FINE,), (), (Jump.DA_CAPO,)]),
        (BAR + '<sound fine="yes"/>', BAR, BAR + '<sound dacapo="yes"/>', [(Jump.FINE,), (), (Jump.DA_CAPO,)]),
        ('<sound segno="1"/>' + BAR, BAR + '<sound tocoda="1"/>', '<sound coda="1"/>' + BAR,
         [(Jump.SEGNO,), (Jump.TO_CODA,), (Jump.CODA,)]),
        (BAR, BAR + direction("<segno/>"), BAR + words_above("D.S."), [(), (), (Jump.SEGNO, Jump.DAL_SEGNO)]),
        (BAR, direction("<coda/>") + BAR, direction("<coda/>") + BAR, [(Jump.TO_CODA,), (), (Jump.CODA,)]),
        (BAR, BAR + direction("<coda/>", '<sound tocoda="1"/>'), BAR, [(), (Jump.TO_CODA,), ()]),
        (BAR, BAR + direction("<words>To</words><symbol>coda</symbol>"), direction("<symbol>coda</symbol>") + BAR,
         [(), (Jump.TO_CODA,), (Jump.CODA,)]),
        (barline("left", "<segno/>") + BAR, BAR + barline("right", "<coda/>"), barline("left", "<coda/>") + BAR,
         [(Jump.SEGNO,), (Jump.TO_CODA,), (Jump.CODA,)]),
        (BAR + barline("right", segno="1"), BAR + barline("right", coda="1"), barline("left", coda="1") + BAR,
         [(), (Jump.SEGNO, Jump.TO_CODA), (Jump.CODA,)]),
    ],
)  # fmt: skip
def test_jumps_stand_at_the_bar_that_they_mean(
    first: str, second: str, third: str, jumps: list[tuple[Jump, ...]]
) -> None:
    assert [bar.jumps for bar in song_of(first, second, third).bars] == jumps


@pytest.mark.parametrize(
    ("inside", "words"),
    [
        ("<direction-type><words>Fin</words></direction-type><sound fine='yes'/>", "Fin"),
        ("<direction-type><words>Von vorn</words></direction-type><sound dacapo='yes'/>", "Von vorn"),
        ("<direction-type><words>To</words><symbol>coda</symbol></direction-type>", "To"),
        ("<direction-type><words>To 𝄌</words></direction-type>", "To"),
        ("<direction-type><words>D.S. al</words><symbol>coda</symbol></direction-type>", "D.S. al Coda"),
        ("<direction-type><words>D.S. 𝄋 al Fine</words></direction-type>", "D.S. al Fine"),
        ("<direction-type><words>Coda</words></direction-type>", ""),
    ],
)
def test_the_words_of_a_jump_are_kept_and_its_sign_is_drawn(inside: str, words: str) -> None:
    """MusicXML 4.0: ``symbol`` is for signs within a text, by their SMuFL names; ``sound`` says what words mean."""
    song = song_of(BAR, BAR + f"<direction>{inside}</direction>")
    assert song.bars[1].jump_words == words
    assert len(song.bars[1].jumps) == 1
    assert "not carried over" not in remarks(song)


def test_a_jump_keeps_its_words_and_what_is_missing_is_remarked_on() -> None:
    song = song_of(BAR, BAR + words_above("D.C. al Coda"))
    assert song.bars[1].jump_words == "D.C. al Coda"
    assert "there is no “To Coda” sign" in remarks(song)


def test_sections_are_rehearsal_marks_or_their_usual_names() -> None:
    song = song_of(
        direction("<rehearsal>A</rehearsal>") + BAR, words_above("Chorus") + BAR, words_above("Verse 2") + BAR
    )
    assert [bar.section for bar in song.bars] == ["A", "Chorus", "Verse 2"]


# --- harmony ------------------------------------------------------------------------------


def test_a_chord_lasts_to_the_next_one_through_barlines() -> None:
    song = song_of(note("z", 4) + chord("C") + note("C4", 4), BAR, chord("G", "dominant", text="7") + BAR)
    assert [span.offset for span in song.harmony] == [8, 12]
    assert chords(song) == [(2, "C"), (8, "G7")]


def test_a_chord_may_be_placed_by_an_offset() -> None:
    song = song_of(chord("C") + chord("G", inside="<offset>4</offset>") + BAR)
    assert chords(song) == [(0, "C"), (2, "G")]


def test_an_offset_beyond_the_bar_does_not_lose_the_chord() -> None:
    assert chords(song_of(chord("G", inside="<offset>99</offset>") + BAR, BAR)) == [(0, "G")]


@pytest.mark.parametrize(
    ("eighths", "onset"),
    [
        ("3", Fraction(3, 2)),  # an eighth
        ("0.5", Fraction(1, 4)),  # a sixteenth
        ("3.996", 2),  # a division lost in rounding
        ("7.999", 4),  # … before the barline
        ("2.4", 1),  # put where it looked well: to the nearer note
        ("6.7", Fraction(7, 2)),  # … to the nearer eighth under a long note
    ],
)
def test_a_chord_stands_where_something_can_be_struck(eighths: str, onset: Fraction) -> None:
    """A sixteenth is the shortest value that the levels strike (levels.md)."""
    bar = chord("C") + chord("G", inside=f"<offset>{eighths}</offset>") + note("E4", 2) + note("D4", 6)
    assert chords(song_of(bar, note("C4", 8))) == [(0, "C"), (onset, "G")]


def test_a_chord_that_is_moved_by_more_than_rounding_is_told() -> None:
    song = song_of(chord("C") + chord("G", inside="<offset>6.7</offset>") + BAR)
    assert "The chord G stands where nothing is struck: read at beat 4½" in remarks(song)
    assert song_of(chord("C") + chord("G", inside="<offset>3.996</offset>") + BAR).remarks == ()


def test_a_chord_may_come_with_any_note_however_short() -> None:
    short = note("C4", 1).replace("<duration>1<", "<duration>0.875<")
    assert chords(song_of(chord("C") + short + chord("G") + note("D4", 4))) == [
        (0, "C"),
        (Fraction(7, 16), "G"),
    ]


@pytest.mark.parametrize(
    ("written", "tones"),
    [
        (chord("C", "half-diminished"), "C Eb Gb Bb"),
        (chord("C", "dominant", "<degree><degree-value>9</degree-value><degree-alter>-1</degree-alter>"
               "<degree-type>add</degree-type></degree>"), "C E G Bb Db"),
        (chord("C", "dominant", "<degree><degree-value>5</degree-value><degree-alter>1</degree-alter>"
               "<degree-type>alter</degree-type></degree>"), "C E G# Bb"),
        (chord("C", "major", "<degree><degree-value>3</degree-value><degree-alter>0</degree-alter>"
               "<degree-type>subtract</degree-type></degree>"), "C G"),
        (chord("C", "suspended-fourth", "<degree><degree-value>7</degree-value><degree-alter>0</degree-alter>"
               "<degree-type>add</degree-type></degree>"), "C F G Bb"),
        (chord("C", "other", text="7(b9)"), "C E G Bb Db"),
        (chord("C", "", text="m7"), "C Eb G Bb"),
        (chord("C", "min"), "C Eb G"),
    ],
)  # fmt: skip
def test_kinds_with_their_degrees(written: str, tones: str) -> None:
    (span,) = song_of(written + BAR).harmony
    assert span.chord is not None
    assert " ".join(str(tone.name) for tone in chord_tones(span.chord)) == tones


@pytest.mark.parametrize(
    ("inside", "bass"),
    [
        ("<bass><bass-step>E</bass-step></bass>", "E"),
        ("<bass><bass-step>B</bass-step><bass-alter>-1</bass-alter></bass>", "Bb"),
        ("<inversion>1</inversion>", "E"),
        ("<inversion>0</inversion>", "None"),
        ("<bass><bass-step>C</bass-step></bass>", "None"),
    ],
)
def test_slash_basses_and_inversions(inside: str, bass: str) -> None:
    (span,) = song_of(chord("C", inside=inside) + BAR).harmony
    assert span.chord is not None
    assert str(span.chord.bass) == bass


@pytest.mark.parametrize(
    "written",
    [
        "<harmony><kind>none</kind></harmony>",
        chord("C", "none"),
        '<harmony><kind text="N.C.">other</kind></harmony>',
        words_above("N.C."),
    ],
)
def test_no_chord_ends_the_harmony_for_a_time(written: str) -> None:
    song = song_of(chord("C") + note("C4", 4) + written + note("C4", 4), chord("G") + BAR)
    assert chords(song) == [(0, "C"), (2, "N.C."), (4, "G")]
    assert song.remarks == ()


def test_an_unknown_kind_is_read_by_its_text_or_as_major_with_a_remark() -> None:
    assert "“strange” is not understood: read as C major" in remarks(song_of(chord("C", "strange") + BAR))
    assert "“xyz” is not understood" in remarks(song_of(chord("C", "other", text="7xyz") + BAR))


@pytest.mark.parametrize(
    ("text", "tones"),
    [("b5", "C E Gb"), ("♭5", "C E Gb"), ("#5", "C E G#"), ("#11", "C E G F#"), ("b9", "C E G Db")],
)
def test_a_kind_that_begins_with_an_accidental_leaves_the_root_alone(text: str, tones: str) -> None:
    """C with a flat fifth, and not C flat (common practice, no source)."""
    song = song_of(chord("C", "other", text=text) + BAR)
    assert song.harmony[0].chord is not None
    assert " ".join(str(tone.name) for tone in chord_tones(song.harmony[0].chord)) == tones
    assert song.remarks == ()


def test_a_chord_without_a_root_is_left_out_with_a_remark() -> None:
    roman = "<harmony><function>V</function><kind>dominant</kind></harmony>"
    assert "“V” is named by its function" in remarks(song_of(chord("C") + BAR, roman + BAR))


def test_chords_crowded_on_one_note_share_its_time_with_a_remark() -> None:
    song = song_of(chord("C", "dominant", text="7") + chord("F") + note("G4", 4) + note("F4", 4))
    assert chords(song) == [(0, "C7"), (1, "F")]
    assert "C7, F stand at the same place: they share" in remarks(song)


def test_three_chords_over_one_long_note_change_on_its_beats() -> None:
    """The beats of common time; what is over goes to the first, for chords change sooner towards a barline."""
    crowd = chord("C") + chord("F") + chord("G")
    assert chords(song_of(crowd + note("C4", 8))) == [(0, "C"), (2, "F"), (3, "G")]
    assert chords(song_of(crowd + note("C4", 4) + note("C4", 4))) == [
        (0, "C"),
        (1, "F"),
        (Fraction(3, 2), "G"),
    ]


def test_a_chord_written_twice_is_one_chord_and_too_many_are_reduced_to_the_first() -> None:
    twice = song_of(chord("C") + chord("C") + BAR)
    assert (chords(twice), twice.remarks) == ([(0, "C")], ())
    crowd = song_of(chord("C") + chord("F") + chord("G") + note("C4", 2) + note("D4", 6))
    assert chords(crowd) == [(0, "C")]
    assert "only the first is read" in remarks(crowd)


def test_words_that_spell_a_chord_are_a_chord_and_others_are_remarked_on() -> None:
    song = song_of(
        words_above("Gm") + BAR, words_above("with feeling, dear") + BAR, words_above("rit.") + BAR
    )
    assert chords(song) == [(0, "Gm")]
    assert "“Gm” are read as a chord symbol" in remarks(song)
    assert "“rit.” are not carried over" in remarks(song)


def test_letters_that_count_from_a_are_sections_and_a_lone_letter_is_a_chord() -> None:
    lettered = song_of(words_above("A") + BAR, words_above("B") + BAR)
    assert lettered.harmony == ()
    assert chords(song_of(chord("G") + BAR, words_above("C") + BAR)) == [(0, "G"), (4, "C")]


@pytest.mark.parametrize(
    ("content", "text"),
    [
        (chord("C", inside="<degree><degree-value>99</degree-value><degree-type>add</degree-type></degree>") + BAR,
         "degree of a chord symbol is not understood"),
        (chord("C", inside="<degree><degree-value>9</degree-value><degree-type>?</degree-type></degree>") + BAR,
         "degree of a chord symbol is not understood"),
        ("<harmony type='alternate'><root><root-step>C</root-step></root><kind>major</kind></harmony>" + BAR,
         "alternate chord symbol"),
        (chord("C", inside="<root><root-step>D</root-step></root><kind>minor</kind>") + BAR, "one over the other"),
        (BAR.replace("<alter>0", "<alter>0.5"), "quarter tone on C4 is read as the nearest semitone"),
        ("<attributes><measure-style><measure-repeat type='start'>1</measure-repeat></measure-style></attributes>" + BAR,
         "bar-repeat sign is not played out"),
        (note("C4", 4) + "<attributes><time><beats>3</beats><beat-type>4</beat-type></time></attributes>" + note("C4", 4),
         "meter changes inside the bar"),
    ],
)  # fmt: skip
def test_what_is_left_out_is_remarked_on(content: str, text: str) -> None:
    assert text in remarks(song_of(content))


# --- parts --------------------------------------------------------------------------------


def in_second_voice(pitch: str, duration: int) -> str:
    return note(pitch, duration, "<voice>2</voice>")


def test_a_tune_that_another_voice_goes_on_with_in_a_bar_is_one_line() -> None:
    """One tune written in two voices: what sounds is the only thing that does (common practice, no source)."""
    song = song_of(chord("C") + note("C5", 4) + in_second_voice("E5", 2) + in_second_voice("D5", 2))
    assert pitches(song) == "C5 E5 D5"
    assert song.remarks == ()


def test_a_voice_that_answers_lies_far_below_or_sounds_under_the_tune_is_left_out() -> None:
    deep = song_of(chord("C") + note("C5", 4) + in_second_voice("C3", 4))
    assert pitches(deep) == "C5"
    under = song_of(
        chord("C") + note("C5", 6) + "<backup><duration>2</duration></backup>" + in_second_voice("A4", 4)
    )
    answer = song_of(
        chord("C") + note("C5", 2) + in_second_voice("E4", 2) + note("D5", 2) + in_second_voice("F4", 2)
    )
    assert pitches(answer) == "C5 D5"
    assert pitches(under) == "C5"
    assert "Notes of another voice under the melody are left out" in remarks(under)


PIANO = measure(FOUR_FOUR + chord("C") + note("G4", 8))
VOICE = measure(FOUR_FOUR + note("E4", 4) + note("D4", 4))


def parts_called(names: str, *parts: str) -> bytes:
    text = score(*parts)
    for name in names.split():
        text = text.replace("<part-name/>", f"<part-name>{name}</part-name>", 1)
    return text.encode()


@pytest.mark.parametrize(
    ("names", "parts"),
    [
        ("Voice Piano", (VOICE, PIANO)),
        ("Piano Melody", (PIANO, VOICE)),
        ("Flute Piano", (VOICE.replace("<voice>", "<lyric><text>la</text></lyric><voice>", 1), PIANO)),
        ("Piano Voice", (PIANO, VOICE.replace("<note>", chord("F") + "<note>", 1))),
    ],
)
def test_a_voice_sings_and_not_the_piano_that_names_the_chords(names: str, parts: tuple[str, str]) -> None:
    """A voice and piano score: its tune is the voice's, wherever its chord symbols stand (design.md, section 1)."""
    assert pitches(read_song(parts_called(names, *parts), "a.musicxml")) == "E4 D4"


def test_where_the_voice_has_no_chord_symbols_a_remark_says_whose_are_read() -> None:
    apart = read_song(parts_called("Voice Piano", VOICE, PIANO), "a.musicxml")
    assert chords(apart) == [(0, "C")]
    assert "that of the part “Voice”, the chord symbols are those of “Piano”" in remarks(apart)


@pytest.mark.parametrize("names", ["Flute Guitar", "Choir Guitar", "Melody Voice"])
def test_among_other_parts_the_one_with_the_chord_symbols_sings(names: str) -> None:
    song = read_song(
        parts_called(names, *((PIANO, VOICE) if "Voice" in names else (VOICE, PIANO))), "a.musicxml"
    )
    assert pitches(song) == "G4"
    assert song.remarks == ()


MELODY = measure(FOUR_FOUR + note("C5", 8))
NAMES = measure(FOUR_FOUR + chord("C") + note("z", 8))
BOTH = measure(FOUR_FOUR + chord("G") + note("G4", 8))
BASS = measure(FOUR_FOUR + note("C2", 8))


@pytest.mark.parametrize(
    ("parts", "pitch", "name"),
    [
        ((BOTH, MELODY), "G4", "G"),
        ((MELODY, BOTH), "G4", "G"),
        ((MELODY, NAMES), "C5", "C"),
        ((NAMES, MELODY), "C5", "C"),
        ((MELODY, BASS, NAMES), "C5", "C"),
    ],
)
def test_the_melody_is_the_first_part_with_notes_and_chords_else_the_top_part(
    parts: tuple[str, ...], pitch: str, name: str
) -> None:
    song = read_score_text(score(*parts))
    assert pitches(song) == pitch
    assert chords(song) == [(0, name)]


def test_of_a_part_on_two_staves_the_upper_one_sings() -> None:
    piano = note("E4", 8, "<voice>1</voice><staff>1</staff>") + "<backup><duration>8</duration></backup>"
    song = song_of(piano + note("C6", 8, "<voice>5</voice><staff>2</staff>"))
    assert pitches(song) == "E4"


def test_a_score_without_chord_symbols_is_told_how_to_write_them() -> None:
    with pytest.raises(MissingHarmonyError, match="chord symbols above the staff"):
        read_song(score(MELODY).encode(), "tune.musicxml")


# --- keys that call themselves major ------------------------------------------------------


@pytest.mark.parametrize(
    ("first", "last", "key"),
    [
        (chord("A", "minor"), chord("A", "minor"), Key(0, Mode.MINOR)),
        (chord("A", "minor"), chord("A"), Key(0, Mode.MINOR)),
        (chord("C"), chord("A", "minor"), Key(0, Mode.MINOR)),
        (chord("A", "minor"), chord("C"), Key(0)),
        (chord("C"), chord("C"), Key(0)),
        (chord("C"), chord("A"), Key(0)),
    ],
)
def test_a_song_that_ends_on_its_relative_minor_is_in_minor(first: str, last: str, key: Key) -> None:
    song = song_of(first + BAR, chord("F") + BAR, last + BAR)
    assert song.key == key
    assert ("read as A minor" in remarks(song)) == (key.mode is Mode.MINOR)


# --- what cannot be read ------------------------------------------------------------------


@pytest.mark.parametrize(
    ("content", "message"),
    [
        (note("C4", 2) + note("C4", -2), "bar 1, beat 2: A note has a negative length"),
        (note("C4", 2) + "<note><rest/></note>", "bar 1, beat 2: A note has no readable length"),
        (note("C4", 4000000000), "A note is absurdly long"),
        (note("z", 2000000), "The bar is absurdly long"),
        ("<forward><duration>99999999</duration></forward>" + BAR, "The bar is absurdly long"),
        ("<backup><duration>-4</duration></backup>" + BAR, "goes backwards"),
        ("<attributes><divisions>0</divisions></attributes>" + BAR, "divided in 0 parts"),
        ("<attributes><divisions>-2</divisions></attributes>" + BAR, "divided in -2 parts"),
        ("<attributes><divisions>1e9</divisions></attributes>" + BAR, "divided in 1e9 parts"),
        ("<attributes><key><fifths>40</fifths></key></attributes>" + BAR, "40 sharps or flats"),
        ("<attributes><time><beats>0</beats><beat-type>4</beat-type></time></attributes>" + BAR, "meter 0/4"),
        ("<attributes><time><beats>4</beats><beat-type>3</beat-type></time></attributes>" + BAR, "meter 4/3"),
        (
            "<attributes><transpose><chromatic>900</chromatic></transpose></attributes>" + BAR,
            "transposes by 900",
        ),
        (BAR.replace("<octave>4", "<octave>77"), "There is no pitch C77"),
        (BAR.replace("<step>C", "<step>H"), "There is no pitch H4"),
        (BAR.replace("<alter>0", "<alter>9"), "The accidental of C4 is not understood"),
        (BAR.replace("<octave>4", "<octave>10").replace("<step>C", "<step>B"), "out of every range"),
    ],
)
def test_nonsense_in_a_bar_is_named_with_its_place(content: str, message: str) -> None:
    with pytest.raises(UnreadableSongError, match=message):
        song_of(content)


def test_several_problems_come_at_once_with_their_bars() -> None:
    wrong = note("C4", 2) + note("C4", -2)
    with pytest.raises(UnreadableSongError) as caught:
        song_of(wrong, BAR, wrong)
    assert [problem.place for problem in caught.value.problems] == ["bar 1, beat 2", "bar 3, beat 2"]


@pytest.mark.parametrize(
    "text",
    [
        score(),
        score(""),
        score(measure("")),
        score(measure(FOUR_FOUR + note("z", 8))),
        score(measure(FOUR_FOUR + "<note><unpitched/><duration>8</duration></note>")),
    ],
)
def test_a_score_without_notes_is_said_to_have_none(text: str) -> None:
    with pytest.raises(UnreadableSongError, match=r"The score is empty|There are no notes"):
        read_score_text(text)
