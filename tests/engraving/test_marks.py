"""Which digits and circled strings are printed.

The conventions are common practice of printed guitar music ("print what is not obvious");
the examples are from memory.
"""

from collections.abc import Iterable
from dataclasses import replace
from fractions import Fraction
from typing import Any

from apoyando.engraving.notation.marks import Marks, choose_marks, hand_position
from apoyando.model.arrangement import Note, Role, TexturedBars
from apoyando.model.sheet import Marking
from builders import make_arrangement, make_barre, make_bars, make_line, make_note, small_arrangement


def melody(onset: int | Fraction, pitch: str, string: int | None = None, finger: int | None = None) -> Note:
    return make_note(Role.MELODY, onset, 1, pitch, string, finger)


def circled(*notes: Note, **more: Any) -> list[str]:
    marks = choose_marks(make_arrangement(notes, **more))
    return [str(note.pitch) for note in sorted(marks.strings, key=lambda note: note.onset)]


def with_digit(*notes: Note, **more: Any) -> list[str]:
    marks = choose_marks(make_arrangement(notes, **more))
    return [f"{note.pitch}:{note.finger}" for note in sorted(marks.digits, key=lambda note: note.onset)]


def test_in_first_position_no_string_is_circled() -> None:
    scale = make_line(Role.MELODY, "C3:1 D3:1 E3:1 F3:1 G3:1 A3:1 B3:1 C4:1 D4:1 E4:1 F4:1 G4:1")
    assert circled(*scale) == []


def test_every_stopped_note_of_a_first_position_scale_has_its_digit_and_no_open_string_has_a_zero() -> None:
    scale = make_line(Role.MELODY, "E3:1 F3:1 G3:1 A3:1 B3:1 C4:1")
    assert with_digit(*scale) == ["E3:2", "F3:3", "A3:2", "C4:1"]


def test_a_note_above_its_lowest_fret_is_circled() -> None:
    assert circled(melody(0, "E4", string=2, finger=1)) == ["E4"]


def test_a_note_that_lies_high_because_it_lies_nowhere_else_is_not_circled() -> None:
    assert circled(melody(0, "A5", finger=4)) == []


def test_one_circle_places_the_hand_for_all_that_follows_in_its_four_frets() -> None:
    assert circled(
        melody(0, "E4", string=2, finger=1), melody(1, "C4", string=3, finger=1), melody(2, "G4", 2, 4)
    ) == ["E4"]


def test_one_fret_beyond_the_four_is_circled_again() -> None:
    assert circled(melody(0, "E4", string=2, finger=1), melody(1, "G#4", string=2, finger=4)) == ["E4", "G#4"]


def test_a_note_beside_the_position_told_is_circled_even_at_its_lowest_fret() -> None:
    assert circled(melody(0, "E4", string=2, finger=1), melody(1, "F4", string=1, finger=1)) == ["E4", "F4"]


def test_of_notes_struck_together_the_top_one_is_circled_for_all() -> None:
    chord = (
        melody(0, "E4", 2, 1),
        make_note(Role.INNER, 0, 1, "C4", 3, 1),
        make_note(Role.BASS, 0, 1, "D3", 5, 1),
    )
    assert circled(*chord) == ["E4"]


def test_a_position_told_is_still_known_in_the_next_bar_and_forgotten_in_the_one_after() -> None:
    first, second, third = (melody(bar * 4, "E4", string=2, finger=1) for bar in range(3))
    assert choose_marks(make_arrangement((first, second, third))).strings == {first, third}


def test_a_barre_mark_tells_the_position() -> None:
    under = (melody(0, "F#4", 2, 1), melody(1, "D4", 3, 1))
    assert circled(*under) == ["F#4"]
    assert circled(*under, barres=(make_barre(7, 6, 0, 2),)) == []


def test_a_high_note_that_lies_nowhere_lower_tells_the_position_by_its_fret_alone() -> None:
    assert circled(melody(0, "B4", 1, 1), melody(1, "F#4", 2, 1)) == []


def test_notes_in_a_barre_go_without_a_digit_and_the_others_keep_theirs() -> None:
    in_barre = make_note(Role.BASS, 0, 1, "B2", 5, 1, in_barre=True)
    above_it = make_note(Role.INNER, 0, 1, "F#3", 4, 3)
    assert with_digit(in_barre, above_it, barres=(make_barre(2, 5, 0, 1),)) == ["F#3:3"]


def test_a_zero_is_printed_where_the_reader_would_stop_the_note() -> None:
    in_fifth = melody(0, "A4", finger=1)
    assert with_digit(in_fifth, melody(1, "E4")) == ["A4:1", "E4:0"]


def test_no_zero_where_the_position_told_does_not_reach_the_note() -> None:
    in_fifth = melody(0, "A4", finger=1)
    assert with_digit(in_fifth, make_note(Role.BASS, 1, 1, "E2")) == ["A4:1"]


def test_a_digit_is_not_printed_again_in_the_same_bar_for_the_same_place_and_finger() -> None:
    assert with_digit(*make_line(Role.MELODY, "C4:1 D4:1 C4:1 D4:1")) == ["C4:1", "D4:3"]


def test_it_is_printed_again_in_the_same_bar_when_the_finger_changes() -> None:
    notes = (melody(0, "D4", finger=3), melody(1, "E4"), melody(2, "D4", finger=4))
    assert with_digit(*notes) == ["D4:3", "D4:4"]


def test_it_is_printed_again_in_the_next_bar() -> None:
    assert with_digit(*make_line(Role.MELODY, "C4:2 D4:2 C4:2 D4:2")) == ["C4:1", "D4:3", "C4:1", "D4:3"]


def test_a_repeated_note_keeps_its_digit_across_the_barline() -> None:
    assert with_digit(*make_line(Role.MELODY, "E4:2 C4:2 C4:2 E4:2")) == ["C4:1"]


def test_the_same_arrangement_gives_the_same_marks() -> None:
    assert choose_marks(small_arrangement()) == choose_marks(small_arrangement())


def test_an_arrangement_without_notes_has_no_marks() -> None:
    assert not choose_marks(make_arrangement(())).digits


def test_the_hand_lies_where_its_first_finger_would() -> None:
    assert hand_position(melody(0, "G4", string=2, finger=4)) == 5
    assert hand_position(melody(0, "E4", string=2, finger=1)) == 5


# The right hand.


def test_the_plucking_letters_stand_in_the_first_bar_of_each_arpeggio_and_nowhere_else() -> None:
    """The pattern is played on as it began. A pickup has none: its arpeggio begins in the bar after it."""
    notes = [make_note(Role.INNER, onset, 1, "G3", pluck="i") for onset in range(13)]
    bars = make_bars(3, pickup=1)
    sections = (TexturedBars("0", "1", "arpeggio"), TexturedBars("2", "2", "bare"))
    arrangement = make_arrangement(notes, bars, sections=sections)
    assert {note.onset for note in choose_marks(arrangement).plucks} == {1, 2, 3, 4}
    later = replace(arrangement, sections=(TexturedBars("2", "3", "arpeggio"),))
    assert {note.onset for note in choose_marks(later).plucks} == {5, 6, 7, 8}
    assert choose_marks(replace(arrangement, sections=())).plucks == frozenset()


# The amount of marking.


def marks_of(marking: Marking, *notes: Note, **more: Any) -> Marks:
    return choose_marks(make_arrangement(notes, **more), marking)


def names(notes: Iterable[Note]) -> list[str]:
    return [str(note.pitch) for note in sorted(notes, key=lambda note: (note.onset, -note.pitch.midi))]


HIGH_AND_BACK = (
    melody(0, "C4", finger=1),
    melody(1, "E4", string=2, finger=1),
    melody(2, "G4", string=2, finger=4),
    melody(3, "F4", finger=1),
)
"""First position, fifth position, first position again."""


def test_clean_has_no_digit_in_a_first_position_scale() -> None:
    scale = make_line(Role.MELODY, "E3:1 F3:1 G3:1 A3:1 B3:1 C4:1")
    assert marks_of(Marking.CLEAN, *scale) == Marks()


def test_clean_has_a_digit_where_the_hand_arrives_in_another_position_and_circles_as_in_normal() -> None:
    clean, normal = (marks_of(marking, *HIGH_AND_BACK) for marking in (Marking.CLEAN, Marking.NORMAL))
    assert names(clean.digits) == ["E4", "F4"]
    assert clean.strings == normal.strings
    assert names(clean.strings) == ["E4", "F4"]


def test_clean_marks_the_top_note_alone_of_those_with_which_the_hand_arrives() -> None:
    shifted = (melody(0, "F4", 1, 1), melody(1, "C5", 1, 4), make_note(Role.BASS, 1, 1, "A3", 4, 3))
    assert names(marks_of(Marking.CLEAN, *shifted).digits) == ["C5"]


def test_clean_has_no_digit_where_the_hand_arrives_with_a_barre_which_has_its_mark() -> None:
    under = make_note(Role.MELODY, 1, 1, "A4", 1, 1, in_barre=True)
    notes = (melody(0, "F4", 1, 1), under, make_note(Role.INNER, 1, 1, "F#4", 2, 3))
    barres = (make_barre(5, 6, 1, 1),)
    assert names(marks_of(Marking.CLEAN, *notes, barres=barres).digits) == []
    plain = (melody(0, "F4", 1, 1), replace(under, in_barre=False))
    assert names(marks_of(Marking.CLEAN, *plain).digits) == ["A4"]


def test_clean_has_a_nought_where_a_stopped_string_would_be_played_once_in_a_bar() -> None:
    """In fifth position E4 lies on string 2."""
    open_notes = (melody(2, "E4", 1, 0), melody(3, "E4", 1, 0))
    in_fifth = marks_of(Marking.CLEAN, melody(0, "C4", 3, 1), *open_notes).digits
    assert [note.onset for note in in_fifth if note.place.is_open] == [2]
    assert not marks_of(Marking.CLEAN, melody(0, "F4", 1, 1), *open_notes).digits


def test_clean_is_contained_in_normal_and_normal_in_full() -> None:
    arrangement = small_arrangement()
    clean, normal, full = (choose_marks(arrangement, marking) for marking in Marking)
    assert clean.digits < normal.digits < full.digits
    assert clean.strings <= normal.strings <= full.strings
    assert clean.plucks <= normal.plucks <= full.plucks


def test_full_has_a_digit_at_every_note_and_a_nought_at_every_open_string() -> None:
    scale = make_line(Role.MELODY, "E3:1 F3:1 F3:1 G3:1")
    assert marks_of(Marking.FULL, *scale).digits == set(scale)


def test_full_circles_each_stopped_note_that_does_not_lie_where_its_fret_is_lowest() -> None:
    """F4 does, and is circled all the same, as in normal: the reader still is in fifth position."""
    assert names(marks_of(Marking.FULL, *HIGH_AND_BACK).strings) == ["E4", "G4", "F4"]
    again = (melody(0, "E4", 2, 1), melody(1, "C4", 3, 1))
    assert names(marks_of(Marking.NORMAL, *again).strings) == ["E4"]
    assert names(marks_of(Marking.FULL, *again).strings) == ["E4", "C4"]


def test_full_has_the_letter_of_every_note_that_is_plucked_by_a_finger_that_is_known() -> None:
    notes = [make_note(Role.INNER, onset, 1, "G3", pluck="i") for onset in range(6)]
    unknown = make_note(Role.INNER, 6, 1, "G3")
    assert marks_of(Marking.FULL, *notes, unknown).plucks == set(notes)


# Guide fingers.

ALONG = (melody(0, "F4", 1, 1), melody(1, "A4", 1, 1))
"""Finger 1 goes along string 1 from fret 1 to fret 5."""


def test_a_finger_that_stays_on_its_string_while_the_hand_shifts_is_a_guide_up_or_down() -> None:
    up, down = ALONG, (replace(ALONG[1], span=ALONG[0].span), replace(ALONG[0], span=ALONG[1].span))
    assert marks_of(Marking.NORMAL, *up).guides == {up[1]: 4}
    assert marks_of(Marking.NORMAL, *down).guides == {down[1]: -4}


def test_a_guide_always_has_its_digit() -> None:
    """Even where the note would have none: G4 was stopped by the same finger in the same bar."""
    back = (melody(0, "A4", 1, 1), melody(1, "F4", 1, 1), melody(2, "A4", 1, 1))
    marks = marks_of(Marking.NORMAL, *back)
    assert marks.guides.keys() <= marks.digits
    assert back[2] in marks.guides


def test_another_finger_or_another_string_is_no_guide() -> None:
    assert not marks_of(Marking.NORMAL, ALONG[0], melody(1, "A4", 1, 2)).guides
    assert not marks_of(Marking.NORMAL, ALONG[0], melody(1, "E4", 2, 1)).guides


def test_in_one_position_no_finger_guides_and_clean_shows_no_guides() -> None:
    assert not marks_of(Marking.NORMAL, melody(0, "F4", 1, 1), melody(1, "F#4", 1, 1)).guides
    assert not marks_of(Marking.CLEAN, *ALONG).guides
