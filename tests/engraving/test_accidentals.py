"""Which accidentals are printed (common practice; Gould, Behind Bars, 2011, chapter 3, from memory)."""

import pytest

from apoyando.engraving.notation.accidentals import choose_accidentals, signature_alters, signature_of
from apoyando.engraving.notation.score import Sounding, notate
from apoyando.model.arrangement import Note
from apoyando.model.pitch import Key, Step
from builders import make_arrangement, make_bars, make_line, make_note


def printed(*notes: Note, fifths: int = 0, bars: int = 2) -> list[str]:
    """Pitches that get an accidental, with the alteration printed, in order of bars and voices."""
    score = notate(make_arrangement(notes, make_bars(bars, fifths=fifths)))
    chosen = choose_accidentals(score)
    events = (e for bar in score.bars for line in bar.voices.values() for e in line)
    heads = (
        (note_id, note.pitch)
        for event in events
        if isinstance(event, Sounding)
        for note_id, note in zip(event.note_ids, event.notes, strict=True)
    )
    return [f"{pitch} {chosen[note_id]:+d}" for note_id, pitch in heads if note_id in chosen]


def test_notes_of_the_key_have_none() -> None:
    assert printed(*make_line("melody", "F#4:1 C#4:1 G4:2"), fifths=2) == []


def test_a_note_outside_the_key_has_one() -> None:
    assert printed(*make_line("melody", "F#4:1 F4:1"), fifths=0) == ["F#4 +1", "F4 +0"]


def test_it_holds_to_the_end_of_the_bar() -> None:
    assert printed(*make_line("melody", "F#4:1 F#4:1 G4:2")) == ["F#4 +1"]


def test_it_holds_for_all_voices() -> None:
    melody = make_line("melody", "F#4:4")
    assert printed(*melody, make_note("inner", 2, 1, "F#4")) == ["F#4 +1"]


def test_it_does_not_hold_in_another_octave_and_there_a_reminder_is_printed() -> None:
    assert printed(*make_line("melody", "F#4:2 F#3:2")) == ["F#4 +1", "F#3 +1"]
    assert printed(*make_line("melody", "F#4:2 F3:2")) == ["F#4 +1", "F3 +0"]


def test_in_the_next_bar_the_key_is_in_force_again_with_a_reminder() -> None:
    assert printed(*make_line("melody", "F#4:4 F4:4")) == ["F#4 +1", "F4 +0"]
    assert printed(*make_line("melody", "F#4:4 F#4:4")) == ["F#4 +1", "F#4 +1"]


def test_two_bars_later_there_is_no_reminder() -> None:
    assert printed(*make_line("melody", "F#4:4 G4:4 F4:4"), bars=3) == ["F#4 +1"]


def test_a_tie_over_the_barline_carries_it_for_its_own_note_only() -> None:
    assert printed(*make_line("melody", "r:3 F#4:2 F#4:3")) == ["F#4 +1", "F#4 +1"]


@pytest.mark.parametrize(("fifths", "expected"), [(0, ""), (2, "CF"), (-3, "EAB"), (7, "CDEFGAB")])
def test_a_key_signature_alters_its_letters(fifths: int, expected: str) -> None:
    """Source: the circle of fifths."""
    altered = {step for step, alter in signature_alters(Key(fifths)).items() if alter}
    assert altered == {Step(letter) for letter in expected}


def test_no_signature_has_more_than_seven_signs() -> None:
    assert [signature_of(Key(fifths)) for fifths in (-9, -7, 7, 8)] == [-7, -7, 7, 7]
