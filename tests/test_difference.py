"""What is different between one piece of a song and the next."""

from dataclasses import replace
from fractions import Fraction

from apoyando.difference import find_difference
from apoyando.model.arrangement import Arrangement, GivenUpHold, Note
from apoyando.model.hand import Finger
from apoyando.model.pitch import Key
from builders import make_arrangement, make_line, make_pitch, small_arrangement

PIECE = small_arrangement()


def change_note(arrangement: Arrangement, index: int, **changes: object) -> Arrangement:
    notes = list(arrangement.notes)
    changed: Note = replace(notes[index], **changes)  # type: ignore[arg-type] # fields of a note
    notes[index] = changed
    return replace(arrangement, notes=tuple(notes))


def make_hold(bar: str, pitch: str) -> GivenUpHold:
    return GivenUpHold(bar, Fraction(0), make_pitch(pitch), Fraction(2), Fraction(1), "finger 1 is needed")


def test_a_piece_does_not_differ_from_itself() -> None:
    difference = find_difference(PIECE, PIECE)

    assert difference.bars == ()
    assert difference.sentences == ("Nothing changed.",)


def test_a_bar_is_named_when_one_finger_of_it_is_another() -> None:
    changed = change_note(PIECE, -1, finger=Finger.LITTLE)

    difference = find_difference(PIECE, changed)
    assert difference.bars == ("2",)
    assert difference.sentences == ("Played otherwise: bar 2.",)


def test_a_note_left_out_or_added_is_a_change_of_its_bar() -> None:
    fewer = replace(PIECE, notes=PIECE.notes[1:])

    assert find_difference(PIECE, fewer).bars == ("1",)
    assert find_difference(fewer, PIECE).bars == ("1",)


def test_neighbouring_bars_are_told_as_a_row() -> None:
    """Bars 1 to 3 of 5, and bar 5, go up a tone."""
    before = make_arrangement(make_line("melody", " ".join(["C4:4"] * 5)))
    after = make_arrangement(make_line("melody", "D4:4 D4:4 D4:4 C4:4 D4:4"))

    assert find_difference(before, after).sentences == ("Played otherwise: bars 1–3, 5.",)


def test_where_all_bars_differ_they_are_not_listed() -> None:
    before, after = (make_arrangement(make_line("melody", f"{pitch}4:4 {pitch}4:4")) for pitch in "CD")

    assert find_difference(before, after).sentences == ("Every bar is played otherwise.",)


def test_bars_are_compared_from_their_own_beginning() -> None:
    """A bar put before all others moves them, and does not change them: only the new number is new."""
    line = "C4:4 D4:4 E4:4"
    before = make_arrangement(make_line("melody", line))
    after = make_arrangement(make_line("melody", f"G4:4 {line}"))
    numbers = ("i1", "1", "2", "3")
    after = replace(
        after, bars=tuple(replace(bar, number=n) for bar, n in zip(after.bars, numbers, strict=True))
    )

    assert find_difference(before, after).bars == ("i1",)


def test_the_setup_is_told_with_what_was_before() -> None:
    after = replace(PIECE, key=Key(2), capo=2, level="early", texture="bare")

    assert find_difference(PIECE, after).sentences == (
        "The key: D major, before C major.",
        "The capo: 2, before none.",
        "The level: early, before intermediate.",
        "The texture: bare, before running-eighths.",
    )


def test_holds_are_told_that_are_lost_and_that_are_won() -> None:
    both, lost, won = make_hold("1", "C3"), make_hold("2", "G2"), make_hold("1", "E3")
    before = replace(PIECE, given_up_holds=(both, won))
    after = replace(PIECE, given_up_holds=(both, lost))

    assert find_difference(before, after).sentences == (
        "Let go before its written end: G2 in bar 2.",
        "Held again to its end: E3 in bar 1.",
    )
