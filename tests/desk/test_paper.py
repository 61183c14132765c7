"""What the page's modules are told of the page: every head leads to its note, and every note to its heads."""

from fractions import Fraction

from apoyando.desk.paper import Named, describe_paper, find_note, name_of
from apoyando.engraving import find_heads
from apoyando.model.arrangement import Arrangement, Role
from builders import make_arrangement, make_bars, make_line, make_note


def piece() -> Arrangement:
    """A tied tune over a bass, and two inner notes struck together."""
    notes = (
        *make_line("melody", "E4:2 G4:4 E4:2"),
        make_note("bass", 0, 4, "C3"),
        make_note("inner", 2, 1, "E3", string=4),
        make_note("inner", 2, 1, "G3", string=3),
    )
    return make_arrangement(notes, make_bars(2))


def test_a_tied_note_has_a_head_in_each_bar_and_is_told_once() -> None:
    told = describe_paper(piece())["notes"]
    (tied,) = [note for note in told if note["label"].startswith("bar 1, beat 3: G4")]

    assert [head.split("v")[0] for head in tied["heads"]] == ["m0", "m1"]
    assert len(told) == len(piece().notes)


def test_every_head_of_the_page_leads_to_a_note() -> None:
    told = describe_paper(piece())["notes"]
    assert sorted(head for note in told for head in note["heads"]) == sorted(find_heads(piece()))
    assert {note["note"] for note in told} == set(range(len(piece().notes)))


def test_notes_come_in_the_order_of_time_and_from_the_top() -> None:
    assert [note["label"].split(": ")[1].split(",")[0] for note in describe_paper(piece())["notes"]] == [
        "E4",
        "C3",
        "G4",
        "G3",
        "E3",
        "E4",
    ]


def test_a_note_is_told_as_a_player_would_find_it() -> None:
    assert (
        describe_paper(piece())["notes"][1]["label"] == "bar 1, beat 1: C3, bass, string 5, fret 3, finger 3"
    )


def test_a_note_is_found_again_by_bar_beat_and_voice_wherever_it_is_played() -> None:
    (bass,) = piece().voice(Role.BASS)
    assert name_of(piece(), bass) == Named("1", Fraction(1), Role.BASS, 5)
    assert find_note(piece(), Named("1", Fraction(1), Role.BASS, 6)) == bass
    assert find_note(piece(), Named("2", Fraction(1), Role.BASS, 5)) is None


def test_of_inner_notes_struck_together_the_one_on_the_string_is_found_or_else_the_lowest() -> None:
    assert str(find_note(piece(), Named("1", Fraction(3), Role.INNER, 3)).pitch) == "G3"  # type: ignore[union-attr]
    assert str(find_note(piece(), Named("1", Fraction(3), Role.INNER, 0)).pitch) == "E3"  # type: ignore[union-attr]


def test_every_bar_is_told_by_its_printed_number() -> None:
    assert describe_paper(piece())["bars"] == [{"index": 0, "number": "1"}, {"index": 1, "number": "2"}]
