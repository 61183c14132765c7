"""Why a key is dearer than the best one, in words: pages made by hand that differ in one thing or two."""

from collections.abc import Sequence
from typing import Any

import pytest

from apoyando.arranging import KeyComparison, Setup, explain_prices
from apoyando.model.arrangement import Arrangement, MelodyChange, Note, Relaxation, RelaxationStep
from apoyando.model.instrument import DROP_D_TUNING
from apoyando.model.pitch import Key
from apoyando.model.prices import Prices
from apoyando.model.time import Quarters
from builders import make_arrangement, make_barre, make_line

C, G, D, E_FLAT, B = Key(0), Key(1), Key(2), Key(-3), Key(5)
TUNE = make_line("melody", "E4:4 G4:4")
OPEN_BASSES, CLOSED_BASSES = make_line("bass", "E2:4 A2:4"), make_line("bass", "G2:4 C3:4")


def page(*lines: Sequence[Note], **more: Any) -> Arrangement:
    return make_arrangement([note for line in (TUNE, *lines) for note in line], **more)


def compared(
    key: Key, arrangement: Arrangement, capo: int = 0, tuning: str = "standard"
) -> KeyComparison[None]:
    return KeyComparison(setup=Setup(key, capo, tuning), price=0, arrangement=arrangement, seen=None)


def explain(*all_compared: KeyComparison[None]) -> tuple[tuple[str, ...], ...]:
    return explain_prices(all_compared, Prices())


def test_the_dearer_key_is_told_by_what_is_worse_and_the_best_by_what_is_better_than_in_the_next() -> None:
    best, second = explain(compared(C, page(OPEN_BASSES)), compared(E_FLAT, page(CLOSED_BASSES)))

    assert best == ("no sharps or flats in the signature", "two open basses")
    assert second == ("signature of three flats", "no open bass")


def test_a_count_that_both_have_is_told_by_how_many_more_and_than_what() -> None:
    few = page(make_line("bass", "E2:4 C3:4"))
    many = page(OPEN_BASSES)

    assert explain(compared(C, many), compared(C, few, tuning="drop-d"))[1] == (
        "string 6 is tuned down to D",
        "one open bass fewer than C",
    )
    assert explain(compared(C, many, capo=3), compared(C, few, capo=3))[1] == (
        "one open bass fewer than C, capo 3",
    )


@pytest.mark.parametrize(
    ("worse", "words"),
    [
        ({"barres": (make_barre(1, 6, 0, 4),)}, "one barre"),
        ({"barres": (make_barre(1, 6, 0, 2), make_barre(3, 6, 4, 2))}, "two barres"),
        (
            {"relaxations": (Relaxation(RelaxationStep.BASS_DROPPED, "1", Quarters(0), ""),)},
            "one bass left out",
        ),
        (
            {"relaxations": (Relaxation(RelaxationStep.INNER_DROPPED, "1", Quarters(0), ""),) * 12},
            "12 eighths left empty",
        ),
    ],
)
def test_what_is_given_up_or_hard_on_one_page_only_is_counted(worse: dict[str, object], words: str) -> None:
    assert explain(compared(C, page()), compared(C, page(**worse)))[1] == (words,)


def test_a_tune_below_c4_is_told_by_its_lowest_note_and_one_above_e5_by_its_highest() -> None:
    low = make_arrangement(make_line("melody", "E4:4 A3:4"))
    high = make_arrangement(make_line("melody", "G4:4 F5:4"))

    assert "the tune goes down to A3" in explain(compared(C, page()), compared(G, low))[1]
    assert "the tune goes up to F5" in explain(compared(C, page()), compared(G, high))[1]


def test_the_heaviest_reasons_come_first_and_no_more_than_three_are_told() -> None:
    """Two empty eighths are worse than a closed bass, five sharps, or a capo."""
    empty = (Relaxation(RelaxationStep.INNER_DROPPED, "1", Quarters(0), ""),) * 2
    worst = page(make_line("bass", "F2:4 C3:4"), relaxations=empty)

    reasons = explain(compared(C, page(OPEN_BASSES)), compared(B, worst, capo=1))[1]

    assert reasons == ("two eighths left empty", "signature of five sharps", "no open bass")


def test_a_setup_that_is_alone_has_no_reasons() -> None:
    assert explain(compared(C, page())) == ((),)
    assert explain() == ()


def test_a_setup_is_named_as_players_say_it() -> None:
    assert str(Setup(D, 2, DROP_D_TUNING.name)) == "D, drop-d, capo 2"
    assert str(Setup(E_FLAT, 0, "standard")) == "Eb"


def test_a_rhythm_made_simpler_is_no_note_in_another_octave() -> None:
    """It is the same in every key."""
    octave = MelodyChange("1", Quarters(0), "E4", "E5", "out of range")
    rhythm = MelodyChange("1", Quarters(4), "quarters G4 G4", "half note G4", "simpler", until=Quarters(6))

    told = explain(compared(C, page()), compared(C, page(melody_changes=(octave, rhythm)), capo=3))[1]

    assert any("one note of the tune in another octave" in reason for reason in told)
