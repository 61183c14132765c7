"""What a plan puts right in the song itself: its key, its pickup and single notes of the tune."""

from fractions import Fraction
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from apoyando.model.beat import count_beat
from apoyando.model.errors import UsageError
from apoyando.model.pitch import Pitch
from apoyando.model.plan import NoteChange, Plan
from apoyando.model.song import Barline, Song
from apoyando.reading import read_plan, read_planned_song

EXAMPLES = {
    file.name: file
    for file in (Path(__file__).parents[2] / "examples").iterdir()
    if file.suffix in {".abc", ".musicxml"}
}

HEAD = "X:1\nT:Gate\nM:4/4\nL:1/4\nK:{key}\n"


def read(body: str, plan: str = "", key: str = "C") -> Song:
    data = (HEAD.format(key=key) + body + "\n").encode()
    return read_planned_song(data, "gate.abc", read_plan(plan, "gate.plan.toml"))


def tell(song: Song) -> list[str]:
    """Each bar of the tune: pitch and quarters of what begins in it."""
    return [
        " ".join(f"{n.pitch}:{n.duration}" for n in song.melody if bar.span.contains(n.onset))
        for bar in song.bars
    ]


def note(**entries: object) -> str:
    values = "\n".join(f"{name} = {value!r}" for name, value in entries.items())
    return f"[[notes]]\n{values}\n".replace("True", "true")


TUNE = '"C"C D E F | "G"G2 A2 |]'


def test_a_note_gets_another_pitch_and_keeps_its_length_and_its_words() -> None:
    song = read(f"{TUNE}\nw: one two three four five six", note(bar=1, beat=3, pitch="Eb4"))

    assert tell(song) == ["C4:1 D4:1 Eb4:1 F4:1", "G4:2 A4:2"]
    assert [lyric.text for lyric in song.melody[2].lyrics] == ["three"]
    assert song.remarks == ()


def test_a_note_that_is_made_longer_takes_its_time_from_what_follows() -> None:
    assert tell(read(TUNE, note(bar=1, beat=1, length="dotted quarter")))[0] == "C4:3/2 D4:1/2 E4:1 F4:1"


def test_a_note_that_is_made_longer_may_go_over_the_barline() -> None:
    assert tell(read(TUNE, note(bar=1, beat=4, length="half note"))) == ["C4:1 D4:1 E4:1 F4:2", "G4:1 A4:2"]


def test_what_a_longer_note_covers_is_gone_and_its_word_is_told() -> None:
    song = read(f"{TUNE}\nw: one two three", note(bar=1, beat=1, length="half note"))

    assert tell(song)[0] == "C4:2 E4:1 F4:1"
    assert [(each.bar, each.text) for each in song.remarks] == [
        ("1", "The syllable “two” has lost its note.")
    ]


def test_a_note_that_is_made_shorter_leaves_a_rest() -> None:
    assert tell(read(TUNE, note(bar=2, length="quarter")))[1] == "G4:1 A4:2"


def test_a_note_that_is_not_there_is_a_rest() -> None:
    song = read(f"{TUNE}\nw: one two", note(bar=1, beat=2, rest=True))

    assert tell(song)[0] == "C4:1 E4:1 F4:1"
    assert "two" in song.remarks[0].text


def test_a_new_note_cuts_the_one_that_it_falls_into_and_takes_the_rest_of_its_time() -> None:
    assert tell(read(TUNE, note(bar=2, beat=2, pitch="B4")))[1] == "G4:1 B4:1 A4:2"


def test_a_new_note_in_a_rest_lasts_to_the_next_note_or_to_the_barline() -> None:
    in_rests = '"C"C z z F | "G"G z3 |]'
    changes = note(bar=1, beat=2, pitch="D4") + note(bar=2, beat=3, pitch="A4")

    assert tell(read(in_rests, changes)) == ["C4:1 D4:2 F4:1", "G4:1 A4:2"]


def test_form_and_harmony_stay_as_they_are_whatever_becomes_of_the_notes() -> None:
    body = '|: "C"C D E F |1 "G"G2 A2 :|2 "F"F2 C2 |]'
    before, after = read(body), read(body, note(bar=1, beat=4, length=4))

    assert (after.bars, after.harmony) == (before.bars, before.harmony)


@pytest.mark.parametrize(
    ("plan", "message"),
    [
        (note(bar=2, beat=2, length="half note"), "no note begins there; there they begin on beats 1, 3"),
        (note(bar=9, pitch="C4"), "there is no bar 9; the bars are numbered 1 to 2"),
        (note(bar=1, beat=6, pitch="C4"), "bar 1 goes from beat 1 to before beat 5"),
        (note(bar=2, beat=3, length=8), "it is longer than the song"),
        (note(bar=1, pitch="C5") + note(bar=1, rest=True), "name one place twice"),
        (note(bar=1), 'write pitch = "F#4"'),
        (note(bar=1, pitch="C5", rest=True), 'write pitch = "F#4"'),
        (note(bar=1, pitch="H4"), 'write a note with its octave as "F#4"'),
        (note(bar=1, length="crotchet-ish"), 'write a note value as "quarter"'),
        ('written_key = "H major"', 'write a key as "D minor"'),
        ('written_key = "G# major"', 'write a key as "D minor"'),
        ('pickup = "whole note"', "is no shorter than a bar of 4/4"),
        ('pickup = "two"', '"none"'),
    ],
)
def test_what_cannot_be_meant_is_told_with_what_would_be_right(plan: str, message: str) -> None:
    with pytest.raises(UsageError) as refused:
        read(TUNE, plan)
    assert message in str(refused.value)


def test_another_key_changes_the_signature_and_no_sound() -> None:
    before, after = read(TUNE), read(TUNE, 'written_key = "D minor"')

    assert str(after.key) == "D minor"
    assert after.melody == before.melody


def test_in_another_key_notes_and_chords_are_called_as_the_key_calls_them() -> None:
    """A flat is in F minor what G sharp is in A major (any primer of notation)."""
    song = read('"G#"^G ^D C2 | "C"C4 |]', 'written_key = "F minor"')

    assert tell(song)[0] == "Ab4:1 Eb4:1 C4:2"
    assert song.harmony[0].chord
    assert str(song.harmony[0].chord.root) == "Ab"


def test_a_key_that_comes_later_stays() -> None:
    song = read('"C"C4 | [K:A] "A"A4 |]', 'written_key = "A minor"')

    assert [str(bar.key) for bar in song.bars] == ["A minor", "A major"]


def test_the_barlines_move_with_the_pickup_and_the_signs_with_the_barlines() -> None:
    song = read('|: "C"G C D E | F "G"G2 C :| "C"C4 |]', 'pickup = "quarter"')

    assert tell(song) == ["G4:1", "C4:1 D4:1 E4:1 F4:1", "G4:2 C4:1 C4:4", ""]
    assert [bar.number for bar in song.bars] == ["0", "1", "2", "3"]
    assert song.bars[0].is_pickup
    assert song.bars[1].repeat_times == 2
    assert song.bars[-1].barline is Barline.FINAL


def test_silence_before_a_pickup_is_cut_off_and_nothing_else_moves() -> None:
    song = read('"C"z z z G | "C"C D E F |]', 'pickup = "quarter"')

    assert tell(song) == ["G4:1", "C4:1 D4:1 E4:1 F4:1"]
    assert song.duration == 5


def test_without_its_pickup_a_song_begins_with_a_full_bar() -> None:
    song = read('G | "C"C D E F | "G"G3 |]', 'pickup = "none"')

    assert tell(song) == ["G4:1 C4:1 D4:1 E4:1", "F4:1 G4:3"]
    assert song.bars[0].number == "1"


def test_bars_and_beats_of_notes_and_chords_are_counted_with_the_pickup_as_it_is_then() -> None:
    plan = f'pickup = "quarter"\n{note(bar=1, beat=1, pitch="B3")}[[chords]]\nbar = 1\nchord = "Am"\n'
    song = read('"C"G C D E | F "G"G2 C |]', plan)

    assert tell(song)[1] == "B3:1 D4:1 E4:1 F4:1"
    assert song.harmony[1].onset == 1


@given(
    st.sampled_from(sorted(EXAMPLES)),
    st.none() | st.sampled_from([Fraction(0), Fraction(1, 2), Fraction(1), Fraction(3, 2)]),
    st.data(),
)
def test_whatever_is_put_right_the_laws_of_a_song_hold(
    name: str, pickup: Fraction | None, data: st.DataObject
) -> None:
    """Bars without gaps, notes in order and within the bars, nothing lost but what was asked for."""
    file = EXAMPLES[name]
    source = read_planned_song(file.read_bytes(), file.name, Plan(pickup=pickup))
    struck = data.draw(st.sampled_from(source.melody))
    change = NoteChange(
        bar=source.bar_at(struck.onset).number,
        beat=count_beat(source.bar_at(struck.onset), struck.onset),
        pitch=data.draw(st.none() | st.just(Pitch.of("A", 0, 4))),
        length=data.draw(st.sampled_from([Fraction(1, 2), Fraction(1), Fraction(2)])),
    )
    assume(struck.onset + (change.length or 0) <= source.duration)
    song = read_planned_song(file.read_bytes(), file.name, Plan(pickup=pickup, notes=(change,)))

    assert song.bars[0].onset == 0
    assert all(one.offset == other.onset for one, other in pairwise(song.bars))
    assert [bar.index for bar in song.bars] == list(range(len(song.bars)))
    assert all(one.offset <= other.onset for one, other in pairwise(song.melody))
    assert song.melody[-1].offset <= song.duration
    end = max(struck.offset, struck.onset + (change.length or 0))
    untouched = [each for each in source.melody if each.offset <= struck.onset or each.onset >= end]
    assert set(untouched) <= set(song.melody)
