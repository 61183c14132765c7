"""A melody that was made simpler is proven by its listed changes, and keeps what makes the tune.

What must stay: docs/simpler.md.
"""

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction

import pytest

from apoyando.model.arrangement import Arrangement, MelodyChange
from apoyando.model.pitch import Interval
from apoyando.model.song import Song
from apoyando.proofing import Breach, Proof, prove_melody, prove_report
from builders import make_arrangement, make_line, make_song
from proofing.scene import breaches_of, witnesses_of

SUNG = "E4:1 C4:1/4 D4:1/4 E4:1/4 F4:1/4 G4:1 E4:1 C4:4"
THINNED = "E4:1 C4:1/2 E4:1/2 G4:1 E4:1 C4:4"
SOURCES = (0, 1, 3, 5, 6, 7)
CHANGE = MelodyChange(
    "1", Fraction(1), "sixteenths C4 D4 E4 F4", "eighths C4 E4", "the run is thinned", Fraction(2)
)


def sung(melody: str = SUNG) -> Song:
    return make_song(melody, "C:8")


def played(melody: str = THINNED, sources: Sequence[int] = SOURCES, *changes: MelodyChange) -> Arrangement:
    notes = make_line("melody", melody)
    return make_arrangement(
        (replace(note, source=source) for note, source in zip(notes, sources, strict=True)),
        melody_changes=changes or (CHANGE,),
    )


def test_a_run_thinned_as_it_is_listed_is_proven() -> None:
    assert isinstance(prove_melody(played(), sung()), Proof)
    assert isinstance(prove_report(played(), sung()), Proof)


def test_the_same_without_the_list_is_refuted() -> None:
    unlisted = replace(played(), melody_changes=())
    assert set(breaches_of(prove_melody(unlisted, sung()))) >= {Breach.MELODY_MISSING, Breach.MELODY_LENGTH}


def test_a_change_is_listed_in_the_pitches_of_the_page() -> None:
    up = Interval(1, 7)
    notes = tuple(replace(note, pitch=note.pitch.transposed(up)) for note in played().notes)
    moved = replace(played(), notes=notes, transposition=up)
    listed = replace(CHANGE, old="sixteenths G4 A4 B4 C5", new="eighths G4 B4")
    assert isinstance(prove_melody(replace(moved, melody_changes=(listed,)), sung()), Proof)
    assert breaches_of(prove_melody(moved, sung())) == [Breach.MELODY_CHANGE] * 2


@pytest.mark.parametrize(
    "change",
    [
        replace(CHANGE, old="sixteenths C4 D4 E4 G4"),
        replace(CHANGE, new="eighths C4 F4"),
        replace(CHANGE, until=Fraction(9, 4)),
    ],
    ids=["other notes of the song", "other notes played", "into a note that is not changed"],
)
def test_a_change_that_says_something_else_is_refuted(change: MelodyChange) -> None:
    answer = prove_melody(played(THINNED, SOURCES, change), sung())
    assert set(breaches_of(answer)) == {Breach.MELODY_CHANGE}


def test_a_change_that_ends_within_a_note_is_refuted() -> None:
    early = replace(CHANGE, until=Fraction(7, 4), old="sixteenths C4 D4 E4", new="eighths C4 E4")
    assert Breach.MELODY_CHANGE in breaches_of(prove_melody(played(THINNED, SOURCES, early), sung()))


@pytest.mark.parametrize(
    ("melody", "sources", "new"),
    [
        ("E4:1 C4:1/2 E4:1/4 r:1/4 G4:1 E4:1 C4:4", SOURCES, "eighth C4, sixteenth E4, sixteenth rest"),
        ("E4:1 r:1/2 E4:1/2 G4:1 E4:1 C4:4", (0, 3, 5, 6, 7), "eighth E4"),
    ],
)
def test_the_notes_of_a_change_fill_the_time_that_was_theirs(
    melody: str, sources: Sequence[int], new: str
) -> None:
    answer = prove_melody(played(melody, sources, replace(CHANGE, new=new)), sung())
    assert breaches_of(answer) == [Breach.MELODY_CHANGE]


@pytest.mark.parametrize(
    ("rest", "long", "breaches"),
    [
        ("dotted sixteenth", ("1/8", "3/8"), set()),
        ("eighth", ("0", "1/2"), {Breach.MELODY_CHANGE, Breach.MELODY_CARRIED}),
    ],
)
def test_a_rest_is_filled_if_it_is_shorter_than_an_eighth(
    rest: str, long: tuple[str, str], breaches: set[Breach]
) -> None:
    """One of an eighth parts two phrases."""
    more, length = long
    note = Fraction(1, 2) + Fraction(more)
    name = {Fraction(1, 2): "eighth", Fraction(5, 8): "note of 5/8 of a quarter"}[note]
    song = sung(f"E4:1 G4:{note} r:{length} D4:1 F4:1 C4:4")
    change = MelodyChange("1", Fraction(1), f"{name} G4, {rest} rest", "quarter G4", "filled", Fraction(2))
    answer = prove_melody(played("E4:1 G4:1 D4:1 F4:1 C4:4", range(5), change), song)
    assert set(breaches_of(answer)) == breaches


@pytest.mark.parametrize(
    ("melody", "sources", "new"),
    [
        ("E4:1 E4:1/2 C4:1/2 G4:1 E4:1 C4:4", (0, 3, 1, 5, 6, 7), "eighths E4 C4"),
        ("E4:1 C4:1/2 C4:1/2 G4:1 E4:1 C4:4", (0, 1, 1, 5, 6, 7), "eighths C4 C4"),
        ("E4:1 C4:1/2 G4:1/2 G4:1 E4:1 C4:4", (0, 1, 5, 5, 6, 7), "eighths C4 G4"),
    ],
    ids=["in another order", "a note of the song twice", "a note from elsewhere"],
)
def test_what_is_played_are_notes_of_the_stretch_in_their_order(
    melody: str, sources: Sequence[int], new: str
) -> None:
    answer = prove_melody(played(melody, sources, replace(CHANGE, new=new)), sung())
    assert breaches_of(answer) == [Breach.MELODY_CHANGE]


def test_a_note_in_a_change_has_the_pitch_of_its_source() -> None:
    odd = played("E4:1 C4:1/2 D4:1/2 G4:1 E4:1 C4:4")
    assert breaches_of(prove_melody(odd, sung())) == [Breach.MELODY_PITCH]


def test_a_note_in_a_change_may_be_listed_in_another_octave_besides() -> None:
    folded = played("E4:1 C4:1/2 E5:1/2 G4:1 E4:1 C4:4")
    octave = MelodyChange("1", Fraction(3, 2), "E4", "E5", "out of range")
    assert isinstance(prove_melody(replace(folded, melody_changes=(CHANGE, octave)), sung()), Proof)
    assert isinstance(prove_report(replace(folded, melody_changes=(CHANGE, octave)), sung()), Proof)


def test_two_changes_do_not_overlap() -> None:
    answer = prove_melody(played(THINNED, SOURCES, CHANGE, CHANGE), sung())
    assert Breach.MELODY_CHANGE in breaches_of(answer)


def test_a_change_lasts_for_some_time() -> None:
    nothing = replace(CHANGE, until=CHANGE.onset)
    unchanged = played(SUNG, range(8), nothing)
    assert breaches_of(prove_report(unchanged, sung())) == [Breach.REPORT_NOWHERE]
    assert isinstance(prove_melody(unchanged, sung()), Proof)


LOST = {
    "the first note": (
        "C4:1/4 D4:1/4 E4:1/4 F4:1/4 G4:1 B3:2",
        "D4:1/2 F4:1/2 G4:1 B3:2",
        (1, 3, 4, 5),
        ("sixteenths C4 D4 E4 F4", "eighths D4 F4"),
        (0, 1),
    ),
    "the highest note": (
        "E4:1 C4:1/4 A4:1/4 E4:1/4 F4:1/4 G4:2 C4:4",
        "E4:1 C4:1/2 E4:1/2 G4:2 C4:4",
        (0, 1, 3, 5, 6),
        ("sixteenths C4 A4 E4 F4", "eighths C4 E4"),
        (1, 2),
    ),
    "the lowest note": (
        "E4:1 E4:1/4 C4:1/4 E4:1/4 F4:1/4 G4:2 C4:4",
        "E4:1 E4:1/2 E4:1/2 G4:2 C4:4",
        (0, 1, 3, 5, 6),
        ("sixteenths E4 C4 E4 F4", "eighths E4 E4"),
        (1, 2),
    ),
    "the last note": (
        "E4:1 G4:1 E4:1/4 D4:1/4 F4:1/4 C4:1/4 r:1 C4:4",
        "E4:1 G4:1 E4:1/2 F4:1/2 r:1 C4:4",
        (0, 1, 2, 4, 6),
        ("sixteenths E4 D4 F4 C4", "eighths E4 F4"),
        (2, 3),
    ),
    "a long note": (
        "C4:1 G4:1/2 E4:9/4 F4:1/4 C4:4",
        "C4:1 G4:1/2 F4:5/2 C4:4",
        (0, 1, 3, 4),
        ("eighth G4, note of 2¼ quarters E4, sixteenth F4", "eighth G4, note of 2½ quarters F4"),
        (1, 4),
    ),
    "a long note made short": (
        "C4:1 G4:1/2 E4:2 F4:1/2 C4:4",
        "C4:1 G4:1 E4:3/2 F4:1/2 C4:4",
        (0, 1, 2, 3, 4),
        ("eighth G4, half note E4, eighth F4", "quarter G4, dotted quarter E4, eighth F4"),
        (1, 4),
    ),
}


@pytest.mark.parametrize("lost", LOST)
def test_what_makes_the_tune_stays_whatever_is_listed(lost: str) -> None:
    before, after, sources, (old, new), (onset, until) = LOST[lost]
    change = MelodyChange("1", Fraction(onset), old, new, "simpler", Fraction(until))
    answer = prove_melody(played(after, sources, change), sung(before))
    assert set(breaches_of(answer)) == {Breach.MELODY_CARRIED}
    assert lost.removesuffix(" made short") in " ".join(each.sentence for each in witnesses_of(answer))


def test_a_long_note_may_wait_for_the_beat_while_it_stays_long() -> None:
    """Anticipated by an eighth and tied over the beat, it begins on the beat instead."""
    change = MelodyChange(
        "1",
        Fraction(0),
        "dotted quarter C4, note of 2½ quarters E4",
        "half notes C4 E4",
        "the syncopation is straightened",
        Fraction(4),
    )
    straight = played("C4:2 E4:2 C4:4", (0, 1, 2), change)
    assert isinstance(prove_melody(straight, sung("C4:3/2 E4:5/2 C4:4")), Proof)


def test_an_ornament_is_no_highest_note() -> None:
    """A mordent's upper note, a thirty-second, is higher than all that is sung in the phrase."""
    change = MelodyChange(
        "1",
        Fraction(1),
        "thirty-seconds G4 A4, dotted eighth G4",
        "quarter G4",
        "the ornament is left out",
        Fraction(2),
    )
    plain = played("E4:1 G4:1 E4:2 C4:4", (0, 3, 4, 5), change)
    assert isinstance(prove_melody(plain, sung("E4:1 G4:1/8 A4:1/8 G4:3/4 E4:2 C4:4")), Proof)


def test_every_witness_says_what_is_wrong_and_where() -> None:
    (witness,) = witnesses_of(
        prove_melody(played(THINNED, SOURCES, replace(CHANGE, new="eighths C4 F4")), sung())
    )
    assert witness.sentence == (
        "Bar 1, beat 2: eighths C4 F4 is listed as played, the piece has eighths C4 E4."
    )
