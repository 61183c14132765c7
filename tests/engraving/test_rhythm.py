"""How exact lengths are spelled. Conventions of notation: common practice, no source."""

from collections.abc import Sequence
from fractions import Fraction
from itertools import pairwise
from math import lcm

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from apoyando.engraving.notation.rhythm import Stretch, Written, spell_bar
from apoyando.engraving.notation.values import NoteValue, single_value
from apoyando.model.song import group_beats
from builders import make_meter

SIGNS = {
    "w": Fraction(4),
    "h": Fraction(2),
    "q": Fraction(1),
    "e": Fraction(1, 2),
    "s": Fraction(1, 4),
    "t": Fraction(1, 8),
}
"""Whole, half, quarter, eighth, sixteenth, thirty-second: in quarters."""

METERS = (
    "2/4",
    "3/4",
    "4/4",
    "C|",
    "3/2",
    "5/4",
    "6/4",
    "3/8",
    "5/8",
    "6/8",
    "7/8",
    "9/8",
    "12/8",
    "4/2",
    "1/4",
)


def stretches(text: str) -> list[Stretch]:
    """``"1/2 r1 2"``: lengths in quarters, rests with an r."""
    return [Stretch(Fraction(word.removeprefix("r")), is_rest=word.startswith("r")) for word in text.split()]


def in_letters(signs: Sequence[Written], *, is_rest: bool = False) -> str:
    """``q.`` is a dotted quarter, ``e3`` an eighth of a triplet, ``~`` a tie, ``r`` a rest."""
    letters = {length: letter for letter, length in SIGNS.items()}
    words = [
        letters[sign.value.base] + "." * sign.value.dots + (str(sign.tuplet.actual) if sign.tuplet else "")
        for sign in signs
    ]
    return " ".join(f"r{word}" for word in words) if is_rest else "~".join(words)


def spelled(text: str, meter: str, phase: str = "0") -> str:
    items = stretches(text)
    lines = spell_bar(items, make_meter(meter), Fraction(phase))
    return " ".join(in_letters(line, is_rest=item.is_rest) for item, line in zip(items, lines, strict=True))


@pytest.mark.parametrize(
    ("meter", "lengths", "signs"),
    [
        ("4/4", "4", "w"),
        ("4/4", "3 1", "h. q"),
        ("4/4", "3/2 1/2 2", "q. e h"),
        ("4/4", "7/2 1/2", "h.. e"),
        ("3/4", "3", "h."),
        ("3/4", "1 2", "q h"),
        ("3/4", "1 3/2 1/2", "q q. e"),
        ("2/4", "1/4 3/4 1", "s e. q"),
        ("6/8", "3", "h."),
        ("6/8", "3/4 1/4 1/2 3/2", "e. s e q."),
        ("6/8", "1/2 1 3/2", "e q q."),
        ("12/8", "3 3/2 3/2", "h. q. q."),
        ("C|", "1 2 1", "q h q"),
        ("4/2", "6 2", "w. h"),
    ],
)
def test_a_length_that_shows_the_pulse_is_one_sign(meter: str, lengths: str, signs: str) -> None:
    assert spelled(lengths, meter) == signs


@pytest.mark.parametrize(
    ("meter", "lengths", "signs"),
    [
        ("4/4", "1 2 1", "q q~q q"),
        ("4/4", "3/2 1 3/2", "q. e~e e~q"),
        ("4/4", "1 3", "q q~h"),
        ("4/4", "1/2 7/2", "e e~q~h"),
        ("4/4", "5/2 3/2", "h~e e~q"),
        ("3/4", "1/2 5/2", "e e~h"),
        ("6/8", "2 1", "q.~e q"),
        ("6/8", "1/2 5/2", "e q~q."),
        ("9/8", "9/2", "h.~q."),
        ("12/8", "3/2 3 3/2", "q. q.~q. q."),
        ("6/4", "4 2", "h.~q h"),
        ("5/4", "5", "h.~h"),
        ("7/8", "1/2 1 2", "e e~e e~q."),
    ],
)
def test_a_length_that_would_hide_the_middle_or_a_pulse_is_tied(meter: str, lengths: str, signs: str) -> None:
    assert spelled(lengths, meter) == signs


@pytest.mark.parametrize(
    ("meter", "lengths", "signs"),
    [
        ("4/4", "1/2 1 1/2 1/2 1 1/2", "e q e e q e"),
        ("3/4", "1/2 1 1 1/2", "e q q e"),
        ("2/4", "1/4 1/2 1/4 1/2 1/2", "s e s e e"),
    ],
)
def test_eighth_quarter_eighth_stays_within_its_half_bar(meter: str, lengths: str, signs: str) -> None:
    assert spelled(lengths, meter) == signs


@pytest.mark.parametrize(
    ("meter", "lengths", "signs"),
    [
        ("4/4", "1 r3", "q rq rh"),
        ("4/4", "1 r2 1", "q rq rq q"),
        ("4/4", "r3 1", "rh rq q"),
        ("4/4", "1/2 r1 1/2 2", "e re re e h"),
        ("4/4", "r3/2 1/2 2", "rq re e h"),
        ("3/4", "1 r2", "q rq rq"),
        ("6/8", "r3/2 3/2", "rq. q."),
        ("6/8", "r1 1/2 3/2", "rq e q."),
        ("6/8", "1/2 r1 3/2", "e re re q."),
    ],
)
def test_rests_never_hide_a_pulse(meter: str, lengths: str, signs: str) -> None:
    assert spelled(lengths, meter) == signs


@pytest.mark.parametrize(
    ("meter", "lengths", "signs"),
    [
        ("2/4", "1/3 1/3 1/3 1", "e3 e3 e3 q"),
        ("2/4", "2/3 1/3 1", "q3 e3 q"),
        ("2/4", "1/2 1/6 1/6 1/6 1", "e s3 s3 s3 q"),
        ("2/4", "1/3 1/3 1/6 1/6 1", "e3 e3 s3 s3 q"),
        ("4/4", "2/3 2/3 2/3 2", "q3 q3 q3 h"),
        ("4/4", "4/3 4/3 4/3", "h3 h3 h3"),
        ("3/4", "1 2/3 2/3 2/3", "q q3 q3 q3"),
        ("4/4", "1/3 r2/3 3", "e3 re3 re3 q~h"),
        ("4/4", "1/3 11/3", "e3 q3~q~h"),
        ("2/4", "1/5 1/5 1/5 1/5 1/5 1", "s5 s5 s5 s5 s5 q"),
        ("6/8", "3/10 3/10 9/10 3/2", "e5 e5 q.5 q."),
        ("2/4", "1/7 6/7 1", "s7 q.7 q"),
    ],
)
def test_uneven_divisions_are_tuplets_no_longer_than_needed(meter: str, lengths: str, signs: str) -> None:
    assert spelled(lengths, meter) == signs


def test_the_bracket_opens_at_the_first_and_closes_at_the_last_of_the_tuplet() -> None:
    lines = spell_bar(stretches("2/3 1/3 1"), make_meter("2/4"))
    tuplets = [sign.tuplet for line in lines for sign in line]
    assert [(t.actual, t.normal, t.starts, t.stops) for t in tuplets if t] == [
        (3, 2, True, False),
        (3, 2, False, True),
    ]
    assert tuplets[2] is None


def test_a_pickup_is_spelled_at_the_end_of_its_meter() -> None:
    assert spelled("1 3/2", "4/4", phase="3/2") == "e~e e~q"
    assert spelled("1 3/2", "4/4", phase="0") == "q q~e"
    assert spelled("1/3 1/3", "4/4", phase="10/3") == "e3 e3"


def test_a_bar_that_holds_more_than_its_meter_begins_its_count_again() -> None:
    assert spelled("3 3", "4/4") == "h. q~h"


@pytest.mark.parametrize(
    ("count", "groups"),
    [
        (2, (1, 1)),
        (3, (1, 1, 1)),
        (4, (2, 2)),
        (5, (3, 2)),
        (6, (3, 3)),
        (7, (2, 2, 3)),
        (9, (3, 3, 3)),
        (12, (6, 6)),
    ],
)
def test_units_fall_into_the_usual_groups(count: int, groups: tuple[int, ...]) -> None:
    assert group_beats(count) == groups


def test_lengths_of_dotted_values() -> None:
    assert single_value(Fraction(7, 8)) == NoteValue(Fraction(1, 2), 2)
    assert single_value(Fraction(5, 8)) is None
    assert NoteValue(Fraction(2), 1).quarters == 3


@pytest.mark.parametrize("lengths", ["1/1001 1000/1001 3", "1/4096 16383/4096", "1/67 66/67 3", "1/1024 3"])
def test_absurd_lengths_are_still_spelled_and_keep_their_exact_time(lengths: str) -> None:
    items = stretches(lengths)
    for item, line in zip(items, spell_bar(items, make_meter("4/4")), strict=True):
        assert sum(sign.duration for sign in line) == item.duration


# --- the small world: every stretch on a grid of sixteenths ------------------------------


@pytest.mark.parametrize("meter", ["4/4", "3/4", "2/4"])
def test_in_simple_meters_no_sign_runs_over_the_middle_or_two_beats_but_by_the_rules(meter: str) -> None:
    bar = make_meter(meter).bar_length
    for onset, sign in every_sign_on_sixteenths(meter):
        end = onset + sign.duration
        if meter == "4/4" and onset < 2 < end:
            assert onset == 0, "only what starts on the downbeat may hide the middle"
        if onset.denominator > 1 and end - onset > 1:
            pytest.fail(f"{meter}: off-beat sign of {sign.duration} at {onset}")
        assert end <= bar


@pytest.mark.parametrize("meter", ["6/8", "9/8", "12/8"])
def test_in_compound_meters_a_sign_that_crosses_a_pulse_fills_whole_pulses(meter: str) -> None:
    pulse = Fraction(3, 2)
    for onset, sign in every_sign_on_sixteenths(meter):
        end = onset + sign.duration
        if onset // pulse != -(-end // pulse) - 1:
            assert onset % pulse == 0
            assert end % pulse == 0


def every_sign_on_sixteenths(meter: str) -> list[tuple[Fraction, Written]]:
    bar = make_meter(meter).bar_length
    grid = [Fraction(k, 4) for k in range(int(bar * 4) + 1)]
    found = []
    for onset in grid:
        for offset in grid:
            if onset < offset:
                lengths = [length for length in (onset, offset - onset, bar - offset) if length]
                lines = spell_bar([Stretch(length) for length in lengths], make_meter(meter))
                found += [(sign.onset, sign) for sign in lines[1 if onset else 0]]
    return found


# --- properties of the large world -------------------------------------------------------

lengths_in_quarters = st.sampled_from(
    [Fraction(n, d) for d in (1, 2, 3, 4, 5, 6, 7, 8, 12) for n in range(1, 9)]
)


@st.composite
def filled_bars(draw: st.DrawFn) -> tuple[str, Fraction, list[Stretch]]:
    """A meter, a phase, and stretches that fill the rest of the bar."""
    meter = draw(st.sampled_from(METERS))
    bar = make_meter(meter).bar_length
    phase = draw(st.sampled_from([Fraction(0), bar / 2, bar * Fraction(2, 3), bar - Fraction(1, 2)]))
    left = bar - phase
    items: list[Stretch] = []
    while left:
        length = min(left, draw(lengths_in_quarters))
        items.append(Stretch(length, is_rest=draw(st.booleans())))
        left -= length
    return meter, phase, items


def written_length(sign: Written) -> Fraction:
    """What the sign says: the base, half of it for a dot, a quarter for the next; scaled by the tuplet."""
    length = sign.value.base
    for dot in range(sign.value.dots):
        length += sign.value.base / 2 ** (dot + 1)
    return length * sign.tuplet.normal / sign.tuplet.actual if sign.tuplet else length


@settings(deadline=None)
@given(filled_bars())
@example(("4/4", Fraction(0), stretches("1/3 1/7 11/21 3")))
def test_signs_say_exactly_what_sounds_without_gap(bar: tuple[str, Fraction, list[Stretch]]) -> None:
    meter, phase, items = bar
    lines = spell_bar(items, make_meter(meter), phase)
    assert len(lines) == len(items)
    now = Fraction(0)
    for item, line in zip(items, lines, strict=True):
        assert sum(sign.duration for sign in line) == item.duration
        for sign in line:
            assert sign.onset == now
            now += sign.duration
            assert needs_absurd_tuplet(phase, items) or written_length(sign) == sign.duration


@settings(deadline=None)
@given(filled_bars())
def test_every_bracket_that_opens_closes_before_the_next(bar: tuple[str, Fraction, list[Stretch]]) -> None:
    meter, phase, items = bar
    signs = [sign for line in spell_bar(items, make_meter(meter), phase) for sign in line]
    for before, sign in pairwise([None, *signs, None]):
        is_inside = before is not None and before.tuplet is not None and not before.tuplet.stops
        continues = sign is not None and sign.tuplet is not None and not sign.tuplet.starts
        assert is_inside == continues
        if is_inside and before and sign and before.tuplet and sign.tuplet:
            assert (before.tuplet.actual, before.tuplet.normal) == (sign.tuplet.actual, sign.tuplet.normal)


@settings(deadline=None)
@given(filled_bars())
def test_what_can_be_halved_needs_no_tuplet(bar: tuple[str, Fraction, list[Stretch]]) -> None:
    meter, phase, items = bar
    if all(is_power_of_two(number.denominator) for number in (phase, *(item.duration for item in items))):
        lines = spell_bar(items, make_meter(meter), phase)
        assert all(sign.tuplet is None for line in lines for sign in line)


def needs_absurd_tuplet(phase: Fraction, items: list[Stretch]) -> bool:
    """More than 63 to the beat, or to the third of one that has three parts."""
    denominators = lcm(phase.denominator, *(item.duration.denominator for item in items))
    return 3 * denominators // (denominators & -denominators) > 63


def is_power_of_two(number: int) -> bool:
    return number.bit_count() == 1
