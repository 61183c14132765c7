"""Non-chord tones and their resolutions; inner notes that go on by step.

The kinds are those of any harmony text: Kostka & Payne, *Tonal Harmony*, and Aldwell &
Schachter, *Harmony and Voice Leading* (both from memory).
"""

from dataclasses import replace
from fractions import Fraction
from typing import Any

import pytest

from apoyando.model.arrangement import Arrangement, Note, Role
from apoyando.model.time import Span
from apoyando.proofing import find_rings
from apoyando.reading import load_default_levels
from apoyando.teaching import (
    MotionKind,
    NonChordTone,
    Stay,
    ToneKind,
    VoiceLeading,
    find_voice_leading,
    name_tone,
)
from builders import make_arrangement, make_bars, make_harmony, make_line, make_note, make_pitch

INTERMEDIATE = load_default_levels()["intermediate"]


@pytest.mark.parametrize(
    ("line", "kind"),
    [
        ("F4 F4 E4", ToneKind.SUSPENSION),
        ("B4 B4 C5", ToneKind.RETARDATION),
        ("G4 G4 G4", ToneKind.PEDAL),
        ("C4 D4 E4", ToneKind.PASSING),
        ("E4 D4 C4", ToneKind.PASSING),
        ("G4 G#4 A4", ToneKind.PASSING),
        ("E4 F4 E4", ToneKind.NEIGHBOUR),
        ("C4 B3 C4", ToneKind.NEIGHBOUR),
        ("C4 F4 E4", ToneKind.APPOGGIATURA),
        ("r F4 E4", ToneKind.APPOGGIATURA),
        ("E4 F4 C4", ToneKind.ESCAPE),
        ("D4 C4 C4", ToneKind.ANTICIPATION),
        ("G4 C4 C4", ToneKind.ANTICIPATION),
        ("C4 F4 A4", ToneKind.UNRESOLVED),
        ("F4 F4 A4", ToneKind.UNRESOLVED),
        ("E4 F4 r", ToneKind.UNRESOLVED),
    ],
)
def test_a_tone_is_named_by_how_it_is_approached_and_left(line: str, kind: ToneKind) -> None:
    before, tone, after = (None if name == "r" else make_pitch(name) for name in line.split())
    assert tone
    assert name_tone(before, tone, after) is kind


def test_a_diminished_third_is_a_leap_for_it_is_written_as_one() -> None:
    assert name_tone(make_pitch("Ab4"), make_pitch("F#4"), make_pitch("G4")) is ToneKind.APPOGGIATURA


def test_an_augmented_second_is_a_leap_and_a_chromatic_semitone_is_a_step() -> None:
    f, g_sharp = make_pitch("F4"), make_pitch("G#4")
    assert name_tone(f, g_sharp, make_pitch("A4")) is ToneKind.APPOGGIATURA
    assert name_tone(make_pitch("C5"), make_pitch("C#5"), make_pitch("D5")) is ToneKind.PASSING


def piece(
    melody: str = "", bass: str = "", inner: str = "", harmony: str = "C:8", **more: Any
) -> Arrangement:
    lines = (("melody", melody), ("bass", bass), ("inner", inner))
    notes = [note for role, text in lines for note in make_line(role, text)]
    return make_arrangement(notes, make_bars(2), harmony=make_harmony(harmony), **more)


def leading_of(arrangement: Arrangement) -> VoiceLeading:
    return find_voice_leading(arrangement, find_rings(arrangement, INTERMEDIATE))


def tones_of(arrangement: Arrangement) -> list[tuple[ToneKind, str, str, str]]:
    return [
        (tone.kind, tone.bar, str(tone.note.pitch), str(tone.resolution.pitch) if tone.resolution else "")
        for tone in leading_of(arrangement).tones
    ]


# The melody.


def test_a_scale_over_one_chord_has_passing_tones_between_its_chord_tones() -> None:
    assert tones_of(piece("C4:1 D4:1 E4:1 F4:1 G4:4")) == [
        (ToneKind.PASSING, "1", "D4", "E4"),
        (ToneKind.PASSING, "1", "F4", "G4"),
    ]


def test_a_tune_of_chord_tones_has_none() -> None:
    assert tones_of(piece("C4:1 E4:1 G4:2 C5:4")) == []


def test_a_note_held_over_the_change_into_a_chord_without_it_is_a_suspension() -> None:
    """4–3 over G: C is prepared in C, dissonant in G, and falls to B."""
    arrangement = piece("C5:5 B4:3", bass="C3:4 G2:4", harmony="C:4 G:4")
    (tone,) = leading_of(arrangement).tones
    assert (tone.kind, tone.figure, tone.bar) == (ToneKind.SUSPENSION, "4–3", "2")
    assert tone.span == Span(Fraction(4), Fraction(5))
    assert tone.preparation is tone.note
    assert tone.stay is Stay.WRITTEN


def test_a_suspension_may_be_struck_again_and_is_prepared_by_the_note_before() -> None:
    (tone,) = leading_of(piece("C5:4 C5:1 B4:3", harmony="C:4 G:4")).tones
    assert tone.kind is ToneKind.SUSPENSION
    assert tone.preparation
    assert tone.preparation.onset == 0


def test_repeated_notes_of_one_pitch_are_one_dissonance() -> None:
    arrangement = piece("E4:2 F4:1/2 F4:1/2 F4:1 E4:4")
    (tone,) = leading_of(arrangement).tones
    assert (tone.kind, tone.span) == (ToneKind.NEIGHBOUR, Span(Fraction(2), Fraction(4)))


def test_a_tone_that_waits_for_its_chord_is_an_anticipation() -> None:
    assert tones_of(piece("D4:7/2 C4:9/2", harmony="G:4 C:4")) == [(ToneKind.ANTICIPATION, "1", "C4", "C4")]


def test_a_tone_that_stays_while_the_chords_change_around_it_is_a_pedal() -> None:
    assert tones_of(piece("C5:8", harmony="C:2 G:2 C:4")) == [(ToneKind.PEDAL, "1", "C5", "C5")]


def test_a_breath_does_not_hide_a_resolution_but_the_tone_breaks_off() -> None:
    short, long = "C5:5 r:1 B4:2", "C5:9/2 r:1 B4:5/2"
    (tone,) = leading_of(piece(short, harmony="C:4 G:4")).tones
    assert (tone.kind, tone.stay) == (ToneKind.SUSPENSION, Stay.BREAKS_OFF)
    assert tone.is_violated
    (left,) = leading_of(piece(long, harmony="C:4 G:4")).tones
    assert (left.kind, left.stay, left.is_violated) == (ToneKind.UNRESOLVED, None, False)


def test_where_no_chord_is_given_nothing_is_dissonant() -> None:
    assert tones_of(piece("F4:1 F#4:1 G4:2", harmony="-:4 C:4")) == []
    assert tones_of(piece("F4:1 F#4:1 G4:2", harmony="N.C.:4 C:4")) == []


@pytest.mark.parametrize(
    ("chords", "melody", "bass", "figure"),
    [
        ("F:4 G:4", "C5:5 B4:3", "F2:4 G2:4", "4–3"),
        ("F:4 C:4", "F4:5 E4:3", "F2:4 C3:4", "4–3"),
        ("G:4 C:4", "D5:5 C5:3", "G2:4 C3:4", "9–8"),
        ("C:4 F/A:4", "G4:5 F4:3", "C3:4 A2:4", "7–6"),
    ],
)
def test_a_suspension_is_called_by_its_intervals_over_the_bass(
    chords: str, melody: str, bass: str, figure: str
) -> None:
    (tone,) = leading_of(piece(melody, bass=bass, harmony=chords)).tones
    assert (tone.kind, tone.figure) == (ToneKind.SUSPENSION, figure)


def test_the_fourth_of_a_suspended_chord_is_a_suspension_in_the_melody_too() -> None:
    arrangement = piece("G4:4 F#4:4", bass="G2:2 D3:2 D3:4", harmony="G:2 D.suspended-fourth:2 D:4")
    (tone,) = leading_of(arrangement).tones
    assert (tone.kind, tone.figure) == (ToneKind.SUSPENSION, "4–3")
    assert tone.span == Span(Fraction(2), Fraction(4))


# The accompaniment: suspended chords.


def inner(onset: str, pitch: str, string: int, finger: int, duration: str = "1/2") -> Note:
    return make_note(Role.INNER, onset, duration, pitch, string=string, finger=finger)


def sus_four(*, taker: Note | None = None) -> Arrangement:
    """Dsus4 to D in first position, fingers 1 3 4, then 2 for F#, after G (common practice, no source)."""
    notes = [
        make_note(Role.BASS, 0, 2, "G2", string=6, finger=3),
        inner("1", "G4", 1, 4),
        make_note(Role.BASS, 2, 2, "D3", string=4, finger=0),
        inner("5/2", "A3", 3, 1),
        inner("3", "G4", 1, 4),
        make_note(Role.BASS, 4, 4, "D3", string=4, finger=0),
        inner("9/2", "F#4", 1, 2),
        *([taker] if taker else []),
    ]
    harmony = make_harmony("G:2 D.suspended-fourth:2 D:4")
    return make_arrangement(notes, make_bars(2), harmony=harmony)


def only_tone(arrangement: Arrangement) -> NonChordTone:
    (tone,) = leading_of(arrangement).tones
    return tone


def test_the_fourth_of_a_suspended_chord_resolves_into_the_next() -> None:
    tone = only_tone(sus_four())
    assert (tone.kind, tone.figure) == (ToneKind.SUSPENSION, "4–3")
    assert (str(tone.note.pitch), tone.bar, tone.note.onset) == ("G4", "1", Fraction(3))
    assert tone.preparation
    assert tone.preparation.onset == 1
    assert tone.resolution
    assert str(tone.resolution.pitch) == "F#4"
    assert tone.span == Span(Fraction(3), Fraction(9, 2))


def test_an_eighth_can_be_kept_down_until_the_chord_that_resolves_it() -> None:
    tone = only_tone(sus_four())
    assert tone.ring
    assert (tone.stay, tone.ring.until) == (Stay.CAN_RING, Fraction(4))


def test_written_out_it_is_held_as_written() -> None:
    arrangement = sus_four()
    notes = tuple(
        replace(note, span=Span(Fraction(3), Fraction(4))) if note.onset == 3 else note
        for note in arrangement.notes
    )
    assert only_tone(replace(arrangement, notes=notes)).stay is Stay.WRITTEN


def test_where_its_finger_is_needed_before_it_breaks_off_and_the_ring_says_why() -> None:
    taker = make_note(Role.MELODY, "7/2", "1/2", "A4", string=1, finger=4)
    tone = only_tone(sus_four(taker=taker))
    assert tone.is_violated
    assert tone.ring
    assert tone.ring.taker is taker


def test_a_fourth_that_was_not_heard_before_is_an_appoggiatura() -> None:
    arrangement = sus_four()
    unprepared = tuple(note for note in arrangement.notes if note.onset != 1)
    assert only_tone(replace(arrangement, notes=unprepared)).kind is ToneKind.APPOGGIATURA


def test_a_suspended_second_rises() -> None:
    arrangement = piece(
        inner="E4:1 E4:1 E4:1 r:1 F#4:1", bass="A2:2 D3:2 D3:4", harmony="A:2 D.suspended-second:2 D:4"
    )
    tone = only_tone(arrangement)
    assert (tone.kind, tone.figure) == (ToneKind.RETARDATION, "2–3")


def test_a_fourth_beside_the_third_is_an_added_tone_and_no_suspension() -> None:
    assert tones_of(piece(inner="r:1/2 F4:1/2", harmony="C.major-11th:4 C:4")) == []


# The inner voice at a change of harmony.


def motions_of(arrangement: Arrangement) -> list[tuple[MotionKind, str, str]]:
    return [
        (motion.kind, str(motion.before.pitch), str(motion.after.pitch))
        for motion in leading_of(arrangement).motions
    ]


def test_an_inner_note_that_steps_into_the_next_chord_s_inner_voice_is_voice_leading() -> None:
    assert motions_of(piece(inner="r:7/2 E4:1/2 r:1/2 F4:1/2", harmony="C:4 F:4")) == [
        (MotionKind.STEP, "E4", "F4")
    ]


def test_an_inner_note_that_stays_is_a_common_tone() -> None:
    assert motions_of(piece(inner="r:7/2 C4:1/2 r:1/2 C4:1/2", harmony="C:4 F:4")) == [
        (MotionKind.COMMON_TONE, "C4", "C4")
    ]


def test_an_inner_note_may_step_into_the_bass() -> None:
    arrangement = piece(bass="C3:4 F3:4", inner="r:7/2 E3:1/2 r:1/2 C4:1/2", harmony="C:4 F:4")
    assert motions_of(arrangement) == [(MotionKind.STEP, "E3", "F3")]


def test_a_third_is_no_step_and_within_one_chord_nothing_is_led() -> None:
    assert motions_of(piece(inner="r:7/2 E4:1/2 r:1/2 C4:1/2", harmony="C:4 F:4")) == []
    assert motions_of(piece(inner="r:7/2 E4:1/2 r:1/2 D4:1/2", harmony="C:8")) == []


def test_a_note_struck_earlier_leads_on_if_it_can_ring_until_the_change() -> None:
    # E on string 4 is let ring under C on string 2; struck again on string 4, D ends it.
    rings = piece(inner="r:1 E3:1/2 r:3/2 C4:1/2 r:1 F3:1/2", harmony="C:4 F:4")
    ended = piece(inner="r:1 E3:1/2 r:1 D3:1/2 C4:1/2 r:1 F3:1/2", harmony="C.major-ninth:4 F:4")
    assert (MotionKind.STEP, "E3", "F3") in motions_of(rings)
    assert (MotionKind.STEP, "E3", "F3") not in motions_of(ended)


def test_changes_without_inner_notes_on_both_sides_are_not_counted() -> None:
    assert leading_of(piece(inner="E4:1/2", harmony="C:4 F:4")).changes == 0
    assert leading_of(piece(inner="E4:1/2 r:7/2 F4:1/2", harmony="C:4 F:4")).changes == 1
    assert leading_of(piece(inner="E4:1/2 r:7/2 F4:1/2", harmony="C:2 -:2 F:4")).changes == 0
