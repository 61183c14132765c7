"""String and finger stay for the whole of each written length."""

from fractions import Fraction

from apoyando.proofing import Breach, Proof, Rule, prove_holds
from builders import make_arrangement
from proofing.scene import barre_note, breaches_of, stop, witnesses_of


def test_a_note_may_start_on_a_string_when_the_one_before_ends() -> None:
    arrangement = make_arrangement([stop(2, 1, 1, 0, 2), stop(2, 3, 3, 2, 2)])
    assert prove_holds(arrangement) == Proof(rule=Rule.HOLDS, notes_checked=2, moments_checked=2)


def test_a_string_struck_a_64th_too_early_is_refuted_from_then_until_the_first_note_ends() -> None:
    held, struck = stop(2, 1, 1, 0, 2), stop(2, 3, 3, "31/16", 2)
    (witness,) = witnesses_of(prove_holds(make_arrangement([held, struck])))
    assert witness.breach is Breach.STRING_TAKEN
    assert witness.notes == (held, struck)
    assert witness.strings == (2, 2)
    assert (witness.onset, witness.offset) == (Fraction(31, 16), Fraction(2))


def test_the_sentence_names_both_notes_and_the_time() -> None:
    notes = [stop(2, 1, 1, 0, 2), stop(2, 3, 3, 1, 2)]
    (witness,) = witnesses_of(prove_holds(make_arrangement(notes)))
    assert witness.sentence == (
        "Bar 1, beat 2: string 2 is needed for D (finger 3, string 2 fret 3) "
        "while C (finger 1, string 2 fret 1) lasts until bar 1, beat 3."
    )


def test_the_same_place_struck_again_before_its_end_is_refuted_too() -> None:
    arrangement = make_arrangement([stop(2, 1, 1, 0, 2), stop(2, 1, 1, 1, 1)])
    assert breaches_of(prove_holds(arrangement)) == [Breach.STRING_TAKEN]


def test_two_open_notes_on_one_string_at_once_are_refuted() -> None:
    assert breaches_of(prove_holds(make_arrangement([stop(1, 0, 0), stop(1, 0, 0)]))) == [Breach.STRING_TAKEN]


def test_open_strings_need_no_finger_and_sound_beside_each_other() -> None:
    assert isinstance(prove_holds(make_arrangement(stop(string, 0, 0) for string in range(1, 7))), Proof)


def test_a_finger_may_move_when_its_note_ends_but_not_a_64th_before() -> None:
    in_time = [stop(2, 1, 1, 0, 2), stop(4, 2, 1, 2, 2)]
    early = [stop(2, 1, 1, 0, 2), stop(4, 2, 1, "31/16", 2)]
    assert isinstance(prove_holds(make_arrangement(in_time)), Proof)
    (witness,) = witnesses_of(prove_holds(make_arrangement(early)))
    assert witness.breach is Breach.FINGER_TAKEN
    assert (witness.onset, witness.offset) == (Fraction(31, 16), Fraction(2))


def test_finger_1_lies_on_several_strings_of_one_fret_in_a_barre_only() -> None:
    barre = [barre_note(1, 5), barre_note(2, 5), barre_note(6, 5)]
    one_is_not = [barre_note(1, 5), stop(2, 5, 1)]
    two_frets = [barre_note(1, 5), barre_note(2, 6)]
    assert isinstance(prove_holds(make_arrangement(barre)), Proof)
    assert breaches_of(prove_holds(make_arrangement(one_is_not))) == [Breach.FINGER_TAKEN]
    assert breaches_of(prove_holds(make_arrangement(two_frets))) == [Breach.FINGER_TAKEN]


def test_every_taken_string_is_witnessed_once_however_long_it_lasts() -> None:
    # Other notes cut the overlap into many moments; it is one fault all the same.
    passing = [stop(5, 0, 0, f"{n}/2", "1/2") for n in range(8)]
    notes = [stop(2, 1, 1, 0, 4), stop(2, 3, 3, 1, 3), *passing]
    assert breaches_of(prove_holds(make_arrangement(notes))) == [Breach.STRING_TAKEN]
