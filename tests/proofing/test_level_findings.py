"""Where an arrangement asks more than its level: findings, never refutations."""

from dataclasses import replace
from fractions import Fraction
from typing import Any

import pytest

from apoyando.model.arrangement import Note, Role
from apoyando.model.level import BarreKind
from apoyando.model.pitch import Key, Mode
from apoyando.model.position import list_shifts
from apoyando.model.time import Span
from apoyando.proofing import LevelRule, find_over_level
from builders import change_bar, make_arrangement, make_barre, make_bars, make_line, make_note
from proofing.scene import INTERMEDIATE, barre_note, make_level, place, stop


def rules(*notes: Note, **more: Any) -> list[LevelRule]:
    arrangement = make_arrangement(notes, **more)
    return [finding.rule for finding in find_over_level(arrangement, INTERMEDIATE)]


def test_an_easy_bar_has_no_findings() -> None:
    assert rules(stop(5, 3, 3, 0, 2), stop(3, 0, 0, 1, 1)) == []


@pytest.mark.parametrize(("role", "fret", "is_over"), [
    ("inner", 7, False), ("inner", 8, True), ("bass", 8, True), ("melody", 9, False), ("melody", 10, True),
])  # fmt: skip
def test_each_role_has_its_highest_fret(role: str, fret: int, is_over: bool) -> None:
    pitch = {7: "B4", 8: "C5", 9: "C#5", 10: "D5"}[fret]
    note = make_note(role, 0, 2, pitch, string=1, finger=4)
    held = stop(4, 7, 1, 0, 2)
    assert rules(note, held) == ([LevelRule.HIGHEST_FRET] if is_over else [])


@pytest.mark.parametrize(("pitch", "under", "is_over"), [
    ("E5", 0, False), ("F5", 0, True), ("E5", 7, True),
])  # fmt: skip
def test_a_peak_over_open_strings_may_be_higher(pitch: str, under: int, is_over: bool) -> None:
    peak = make_note("melody", 0, 2, pitch, string=1, finger=4)
    accompaniment = stop(5, under, 1 if under else 0, 0, 2)
    assert rules(peak, accompaniment) == ([LevelRule.HIGHEST_FRET] if is_over else [])


def test_a_peak_has_no_higher_neighbour() -> None:
    pair = [make_note("melody", n, 1, pitch, string=1, finger=1) for n, pitch in enumerate(("D5", "E5"))]
    again = [make_note("melody", n, 1, "E5", string=1, finger=1) for n in range(2)]
    assert rules(*pair) == [LevelRule.HIGHEST_FRET]
    assert rules(*again) == []


@pytest.mark.parametrize(("quarters", "is_over"), [(2, False), ("33/16", True)])
def test_a_barre_lies_no_longer_than_the_level_says(quarters: int | str, is_over: bool) -> None:
    barre = make_barre(5, 4, 0, quarters)
    assert rules(barre_note(4, 5), barres=(barre,)) == ([LevelRule.BARRE] if is_over else [])


def test_barres_that_follow_each_other_at_one_fret_are_one() -> None:
    first, again = make_barre(5, 4, 0, 2), make_barre(5, 6, 2, 1)
    elsewhere, rested = make_barre(7, 4, 2, 1), make_barre(5, 4, 3, 1)
    assert rules(barre_note(4, 5), barres=(first, again)) == [LevelRule.BARRE]
    assert rules(barre_note(4, 5), barres=(first, elsewhere)) == [LevelRule.BARRE_REST]
    assert rules(barre_note(4, 5), barres=(first, rested)) == []


@pytest.mark.parametrize(("onset", "is_over"), [(2, True), ("11/4", True), (3, False)])
def test_a_finger_rests_a_beat_between_two_barres(onset: int | str, is_over: bool) -> None:
    first, second = make_barre(5, 4, 0, 2), make_barre(7, 4, onset, 1)
    notes = [barre_note(4, 5), barre_note(4, 7, onset)]
    found = rules(*notes, barres=(first, second))
    assert (LevelRule.BARRE_REST in found) is is_over


@pytest.mark.parametrize(("lowest_string", "is_over"), [(4, False), (5, True)])
def test_a_level_may_have_half_barres_alone(lowest_string: int, is_over: bool) -> None:
    """Five or six strings are a full barre (model/arrangement.py)."""
    level = make_level(barre_kinds=(BarreKind.HALF,))
    arrangement = make_arrangement([barre_note(4, 5)], barres=(make_barre(5, lowest_string, 0, 1),))
    found = [finding.rule for finding in find_over_level(arrangement, level)]
    assert found == ([LevelRule.BARRE_KIND] if is_over else [])


@pytest.mark.parametrize(
    ("laid", "lasts", "words"),
    [(0, 2, ""), (1, 1, "is laid down as a hinge"), (0, 1, "is lifted as a hinge")],
)
def test_a_barre_laid_or_lifted_under_a_note_that_goes_on_is_a_hinge(
    laid: int, lasts: int, words: str
) -> None:
    arrangement = make_arrangement([barre_note(4, 5, 0, 2)], barres=(make_barre(5, 4, laid, lasts),))
    sentences = [finding.sentence for finding in find_over_level(arrangement, INTERMEDIATE)]
    assert len(sentences) == bool(words)
    assert all(words in sentence for sentence in sentences)
    assert find_over_level(arrangement, make_level(barre_kinds=tuple(BarreKind))) == ()


def test_a_level_without_barres_finds_every_one() -> None:
    arrangement = make_arrangement([barre_note(4, 5)], barres=(make_barre(5, 4, 0, "1/2"),))
    (finding,) = find_over_level(arrangement, make_level(barre_quarters=Fraction(0)))
    assert finding.rule is LevelRule.BARRE
    assert finding.sentence.endswith("none in this level.")


def test_short_values_are_found_in_each_voice_by_its_own_limit() -> None:
    level = make_level(accompaniment_shortest=Fraction(1), melody_shortest=Fraction(1, 2))
    melody = make_note("melody", 0, "1/2", "E4")
    inner = make_note("inner", 0, "1/2", "C4")
    assert find_over_level(make_arrangement([melody]), level) == ()
    assert [f.rule for f in find_over_level(make_arrangement([melody, inner]), level)] == [LevelRule.SHORTEST]


def test_bass_and_inner_voice_are_struck_by_one_hand() -> None:
    level = make_level(accompaniment_shortest=Fraction(1))
    bass = make_note("bass", 0, 4, "A2")
    on_the_beat, off_it = make_note("inner", 1, 1, "G3"), make_note("inner", "1/2", 1, "G3")
    assert find_over_level(make_arrangement([bass, on_the_beat]), level) == ()
    (finding,) = find_over_level(make_arrangement([bass, off_it]), level)
    assert finding.sentence == (
        "Bar 1, beat 1: A (string 5 open) is struck as an eighth, shorter than a quarter."
    )


@pytest.mark.parametrize(
    ("line", "is_over"),
    [
        ("C4:1/2 D4:1/4 E4:1/4 F4:1", False),
        ("C4:3/4 D4:1/4 E4:1", False),
        ("C4:1/2 D4:1/4 E4:1/4 G4:1", True),
        ("C4:1/2 D4:1/4 F4:1/4 G4:1", True),
        ("C4:1/2 D4:1/4 E4:1/4 r:1 G4:1", False),
        ("C4:1/4 D4:1/4 E4:1/4 F4:1", True),
        ("C4:1/2 D4:1/8 E4:1/8 F4:1", True),
    ],
)
def test_sixteenths_of_the_tune_come_two_in_a_row_at_most_and_go_on_by_step(line: str, is_over: bool) -> None:
    assert rules(*make_line("melody", line)) == ([LevelRule.SHORTEST] if is_over else [])


def test_a_level_without_pairs_finds_each_sixteenth() -> None:
    level = make_level(melody_stepwise_shortest=Fraction(1, 2))
    pair = make_line("melody", "C4:1/2 D4:1/4 E4:1/4 F4:1")
    (finding,) = find_over_level(make_arrangement(pair), level)
    assert (finding.rule, finding.onset) == (LevelRule.SHORTEST, Fraction(1, 2))


@pytest.mark.parametrize(("tempo", "is_over"), [(60, False), (100, False), (101, True)])
def test_the_shortest_value_holds_up_to_the_tempo_of_the_level(tempo: int, is_over: bool) -> None:
    eighths = make_line("inner", "G3:1/2 B3:1/2 G3:1/2 B3:1/2")
    more = {"tempo_quarters_per_minute": Fraction(tempo)}
    assert rules(*eighths, **more) == ([LevelRule.TEMPO] if is_over else [])


def test_a_tempo_that_is_too_fast_is_told_with_the_one_that_is_not() -> None:
    eighths = make_line("inner", "G3:1/2 B3:1/2")
    (finding,) = find_over_level(
        make_arrangement(eighths, tempo_quarters_per_minute=Fraction(120)), INTERMEDIATE
    )
    assert finding.sentence == (
        "Bar 1, beat 1: G (string 3 open) is struck as an eighth at ♩ = 120, "
        "quicker than an eighth at ♩ = 100."
    )


def test_no_more_notes_are_struck_together_than_the_level_says() -> None:
    three = [stop(string, 0, 0) for string in (1, 3, 5)]
    assert rules(*three) == []
    assert rules(*three, stop(6, 0, 0)) == [LevelRule.STRUCK_TOGETHER]
    assert rules(*three, stop(6, 0, 0, "1/2")) == []


@pytest.mark.parametrize(("strings", "is_over"), [((2, 3, 4, 5), False), ((1, 3, 4, 5), True)])
def test_a_level_with_strums_may_sweep_over_neighbouring_strings(
    strings: tuple[int, ...], is_over: bool
) -> None:
    arrangement = make_arrangement([stop(string, 0, 0) for string in strings])
    found = [finding.rule for finding in find_over_level(arrangement, make_level(strums=True))]
    assert found == ([LevelRule.STRUCK_TOGETHER] if is_over else [])


# Shifts.


def test_a_far_shift_is_found_where_the_hand_arrives_open_strings_between_or_not() -> None:
    near = [stop(2, 1, 1, 0, 1), stop(2, 6, 1, 1, 1)]
    far = [stop(2, 1, 1, 0, 1), stop(3, 0, 0, 1, 1), stop(2, 7, 1, 2, 1)]
    assert rules(*near) == []
    assert rules(*far) == [LevelRule.SHIFT]
    (finding,) = find_over_level(make_arrangement(far), INTERMEDIATE)
    assert finding.bar == "1"
    assert finding.onset == 2
    assert (
        finding.sentence
        == "Bar 1, beat 3: the hand shifts 6 frets, from position I to VII, at most 5 in this level."
    )


def test_fingers_of_one_position_make_no_shift() -> None:
    assert rules(*(stop(2, 2 + finger, finger, finger, 1) for finger in (1, 2, 3, 4))) == []


def test_a_finger_one_fret_from_its_place_makes_no_shift() -> None:
    """Contraction and extension, as in an open A chord (common practice, no source)."""
    open_a = [stop(4, 2, 1, 0, 1), stop(3, 2, 2, 1, 1), stop(2, 2, 3, 2, 1)]
    assert list_shifts(open_a) == ()
    assert list_shifts([stop(4, 2, 1, 0, 1), stop(2, 3, 1, 1, 1)]) == ()


def test_a_finger_two_frets_from_where_it_was_makes_a_shift() -> None:
    (at_once,) = list_shifts([stop(4, 2, 1, 0, 1), stop(2, 4, 1, 1, 1)])
    (by_steps,) = list_shifts([stop(4, 2, 1, 0, 1), stop(4, 3, 1, 1, 1), stop(2, 4, 1, 2, 1)])
    for shift in (at_once, by_steps):
        assert (shift.old_position, shift.new_position, shift.frets) == (2, 4, 2)
    assert [at_once.since, by_steps.since] == [Fraction(0), Fraction(1)]


def test_a_finger_that_leaps_within_the_first_position_makes_no_shift() -> None:
    assert list_shifts([stop(1, 2, 4, 0, 1), stop(2, 4, 4, 1, 1)]) == ()


def test_a_barre_reaches_no_fret_beside_its_own() -> None:
    shifts = list_shifts([barre_note(4, 2), barre_note(4, 3, 1, 1)])
    assert [(shift.old_position, shift.new_position) for shift in shifts] == [(2, 3)]


@pytest.mark.parametrize(
    ("length", "gap", "is_over"),
    [("1/2", 0, False), ("1/4", 0, True), ("1/4", "1/4", False), ("7/16", 0, True)],
)
def test_a_shift_wants_an_eighth_or_an_open_string_or_a_rest(
    length: str, gap: int | str, is_over: bool
) -> None:
    arrival = Fraction(length) + Fraction(gap)
    notes = [stop(2, 1, 1, 0, length), stop(2, 6, 1, str(arrival), 1)]
    level = make_level(accompaniment_shortest=Fraction(1, 8))
    found = [finding.rule for finding in find_over_level(make_arrangement(notes), level)]
    assert found == ([LevelRule.SHIFT_TIME] if is_over else [])


def test_an_early_hand_shifts_over_a_long_note_and_is_told_so() -> None:
    level = make_level(shift_quarters=Fraction(2))
    long, short = ([stop(2, 1, 1, 0, n), stop(2, 4, 1, n, 1)] for n in (2, 1))
    assert find_over_level(make_arrangement(long), level) == ()
    (finding,) = find_over_level(make_arrangement(short), level)
    assert finding.sentence == (
        "Bar 1, beat 2: the hand shifts from position I to IV within a quarter; "
        "this level shifts over an open string, a rest or a half note."
    )


def test_a_faster_tempo_leaves_less_time_for_a_shift() -> None:
    notes = [stop(2, 1, 1, 0, 1), stop(2, 4, 1, 1, 1)]
    for tempo, is_over in ((200, False), (201, True)):
        arrangement = make_arrangement(notes, tempo_quarters_per_minute=Fraction(tempo))
        assert (
            LevelRule.SHIFT_TIME in {f.rule for f in find_over_level(arrangement, INTERMEDIATE)}
        ) is is_over


def test_a_bass_that_a_finger_holds_lets_no_hand_go_over_an_open_string() -> None:
    """The held string is struck a sixteenth before the hand must be elsewhere."""
    level = make_level(accompaniment_shortest=Fraction(1, 8))
    held = [stop(5, 1, 1, 0, "1/4"), stop(3, 0, 0, "1/8", "1/8"), stop(2, 6, 1, "1/4", 1)]
    assert [f.rule for f in find_over_level(make_arrangement(held), level)] == [LevelRule.SHIFT_TIME]


def test_the_hand_lies_no_lower_than_the_first_position() -> None:
    assert rules(stop(1, 1, 4, 0, 1), stop(2, 6, 1, 1, 1)) == []


# Keys.

D_MINOR, C_MAJOR, B_FLAT, E_FLAT = Key(-1, Mode.MINOR), Key(0), Key(-2), Key(-3)


@pytest.mark.parametrize(
    ("key", "is_over"),
    [(D_MINOR, False), (Key(-1), True), (Key(0, Mode.DORIAN), False), (Key(1, Mode.DORIAN), True)],
)
def test_a_key_is_known_by_its_name_and_another_mode_by_its_signature(key: Key, is_over: bool) -> None:
    level = make_level(keys=(C_MAJOR, D_MINOR))
    bars = make_bars(2, fifths=key.fifths, mode=key.mode)
    found = find_over_level(make_arrangement([stop(3, 0, 0)], bars), level)
    assert [(f.rule, f.bar) for f in found] == ([(LevelRule.KEY, "1")] if is_over else [])


def test_a_foreign_key_is_named_where_it_begins_with_the_keys_that_are_known() -> None:
    bars = change_bar(make_bars(3), 1, key=E_FLAT)
    level = make_level(keys=(C_MAJOR, D_MINOR))
    (finding,) = find_over_level(make_arrangement([stop(3, 0, 0)], bars), level)
    assert finding.sentence == "Bar 2, beat 1: Eb major is not one of this level's keys (C, Dm)."


@pytest.mark.parametrize(("opens", "is_over"), [(2, False), (1, True)])
def test_a_key_over_open_basses_has_at_least_half_of_them_open(opens: int, is_over: bool) -> None:
    level = make_level(keys=(C_MAJOR,), keys_over_open_basses=(B_FLAT,))
    basses = [make_note("bass", n, 1, "D3" if n < opens else "Bb2") for n in range(4)]
    found = find_over_level(make_arrangement(basses, make_bars(1, fifths=-2)), level)
    assert [f.rule for f in found] == ([LevelRule.KEY] if is_over else [])
    if is_over:
        assert "here 1 of 4 are" in found[0].sentence


def test_a_bar_has_one_finding_for_each_rule_at_its_first_place_in_order_of_time() -> None:
    short = [make_note("melody", Fraction(n, 8), "1/8", "E4") for n in (1, 2, 33, 34)]
    findings = find_over_level(make_arrangement(short, make_bars(2)), INTERMEDIATE)
    assert [(f.bar, f.onset, f.rule) for f in findings] == [
        ("1", Fraction(1, 8), LevelRule.SHORTEST),
        ("2", Fraction(33, 8), LevelRule.SHORTEST),
    ]


def test_without_bars_there_is_nothing_to_find() -> None:
    short = make_arrangement([make_note("melody", 0, "1/8", "E4")])
    assert find_over_level(short, INTERMEDIATE)
    assert find_over_level(replace(short, bars=()), INTERMEDIATE) == ()


def test_a_small_barre_is_for_the_levels_that_have_it() -> None:
    small = make_barre(5, 4, 0, 1, highest_string=3, finger=3)
    note = barre_note(4, 5, finger=3)
    assert rules(note, barres=(small,)) == [LevelRule.SMALL_BARRE]
    arrangement = make_arrangement([note], barres=(small,))
    assert find_over_level(arrangement, make_level(small_barres=True)) == ()


# What the tune alone asks.

HASTY = [stop(2, 1, 1, 0, "1/4"), stop(2, 6, 1, "1/4", 1)]
UNDER = make_note("bass", 0, 1, "E2")


def test_a_finding_that_the_tune_has_alone_is_the_tune_s() -> None:
    """The witness has the tune fingered otherwise: in one position, or in two as well."""
    level = make_level(melody_shortest=Fraction(1, 8))
    sung = [replace(note, role=Role.MELODY) for note in HASTY]
    piece = make_arrangement([*sung, UNDER])
    in_one_position = replace(sung[0], place=place(3, 5))
    for first, is_of_tune in ((sung[0], True), (in_one_position, False)):
        (finding,) = find_over_level(piece, level, make_arrangement([first, sung[1]]))
        assert (finding.rule, finding.is_of_tune) == (LevelRule.SHIFT_TIME, is_of_tune)
    assert not find_over_level(piece, level)[0].is_of_tune


@pytest.mark.parametrize("notes", [[UNDER], [make_note("melody", 0, "1/4", "C4")]])
def test_only_the_whole_tune_and_nothing_else_shows_what_the_tune_asks(notes: list[Note]) -> None:
    sung = [replace(note, role=Role.MELODY) for note in HASTY]
    with pytest.raises(ValueError, match="not the tune"):
        find_over_level(make_arrangement([*sung, UNDER]), INTERMEDIATE, make_arrangement(notes))


def test_a_finding_tells_in_which_time_something_could_be_otherwise() -> None:
    barre = make_barre(5, 4, 0, 3)
    (long,) = find_over_level(make_arrangement([barre_note(4, 5)], barres=(barre,)), INTERMEDIATE)
    assert long.stretch == Span(Fraction(2), Fraction(3))
    level = make_level(accompaniment_shortest=Fraction(1, 8))
    (hasty,) = find_over_level(make_arrangement(HASTY), level)
    assert hasty.stretch == Span(Fraction(0), Fraction(5, 4))
    foreign = make_level(keys=(C_MAJOR,))
    (key,) = find_over_level(make_arrangement([stop(3, 0, 0)], make_bars(1, fifths=-3)), foreign)
    assert key.stretch is None


@pytest.mark.parametrize(
    ("tempo", "length", "kept_at"), [(240, 1, 200), (240, "3/4", 150), (60, "1/4", None)]
)
def test_a_hasty_shift_tells_the_fastest_tempo_that_leaves_time_for_it(
    tempo: int, length: int | str, kept_at: int | None
) -> None:
    notes = [stop(2, 1, 1, 0, length), stop(2, 6, 1, length, 2)]

    def find(at: int) -> list[Fraction | None]:
        level = make_level(accompaniment_shortest=Fraction(1, 16))
        piece = make_arrangement(notes, tempo_quarters_per_minute=Fraction(at))
        return [f.kept_at for f in find_over_level(piece, level) if f.rule is LevelRule.SHIFT_TIME]

    assert find(tempo) == [kept_at]
    if kept_at is not None:
        assert find(kept_at) == []
        assert find(kept_at + 1) == [kept_at]
