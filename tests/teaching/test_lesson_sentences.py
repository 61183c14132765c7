"""Every sentence of a lesson sheet follows from a fact: where it holds it is told, where not it is not."""

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from typing import Any

import pytest

from apoyando.model.arrangement import Barre, GivenUpHold, Note, TexturedBars
from apoyando.model.instrument import DROP_D_TUNING
from apoyando.model.pitch import Key, Mode
from apoyando.model.ring import Ending, Ring
from apoyando.teaching import Studied, find_voice_leading, measure_difficulty
from apoyando.teaching.lesson import ahead, asks, care, holding, leading, passes
from apoyando.teaching.lesson.facts import BarRule, Facts, PieceRule, gather_facts
from apoyando.teaching.lesson.passes import climb
from apoyando.teaching.wording import name_bars
from builders import (
    change_bar,
    make_arrangement,
    make_barre,
    make_bars,
    make_form,
    make_harmony,
    make_line,
    make_meter,
    make_note,
    make_pitch,
)
from teaching.test_difficulty import LEVEL, stop

QUIET = make_line("melody", "E4:4")
"""An open string, alone and slow."""


BAR_ROOMS = ("ahead", "holding", "leading")
PIECE_RULES_THERE = (ahead.tell_turns, leading.tell_led_changes)


@dataclass(frozen=True)
class Case:
    """A rule; a piece of which it tells ``sentence``; and one of which it tells nothing like it."""

    rule: PieceRule | BarRule
    holds: Facts
    sentence: str
    fails: Facts
    instead: str = ""
    """What is told of the second piece; nothing for most."""
    bar: int = 0


def facts(notes: Iterable[Note] = QUIET, *, rings: Iterable[Ring] = (), **more: Any) -> Facts:
    """What is known of a piece. ``beyond_level`` are findings; all else is the arrangement's."""
    beyond = more.pop("beyond_level", ())
    piece = make_arrangement(notes, **{"tempo_quarters_per_minute": Fraction(60), **more})
    told = tuple(rings)
    return gather_facts(
        Studied(
            arrangement=piece,
            level=LEVEL,
            hand_size=1.0,
            difficulties=measure_difficulty(piece, LEVEL),
            rings=told,
            leading=find_voice_leading(piece, told),
            beyond_level=beyond,
        )
    )


def ring(note: Note, until: str, ending: Ending, sentence: str = "beat 4: a reason") -> Ring:
    return Ring(
        note=note,
        until=Fraction(until),
        wanted_until=Fraction(4),
        ending=ending,
        sentence=sentence,
        taker=note,
    )


def melody(text: str) -> tuple[Note, ...]:
    return make_line("melody", text)


def tune(pitch: str, string: int, finger: int, onset: int | str, duration: int | str = 1) -> Note:
    return make_note("melody", onset, duration, pitch, string=string, finger=finger)


def bass(text: str) -> tuple[Note, ...]:
    return make_line("bass", text)


def plucked(patterns: Iterable[str]) -> list[Note]:
    """Bars of quarters on open string 1, each letter a stroke."""
    return [
        make_note("melody", 4 * bar + beat, 1, "E4", pluck=letter)
        for bar, pattern in enumerate(patterns)
        for beat, letter in enumerate(pattern)
    ]


TWO_BARS = make_bars(2)
SHIFT = (tune("G4", 1, 3, 0), tune("C5", 1, 4, 1, 3))
"""Positions I and V, two fingers."""
GUIDED = (tune("G4", 1, 4, 0), tune("C5", 1, 4, 1, 3))
FREE = (tune("G4", 1, 3, 0), tune("E4", 1, 0, 1), tune("C5", 1, 4, 2, 2))
HELD = (stop("C3", 5, 3, 0, 4), stop("C4", 2, 1, 2, 2))
F_BARRE = (stop("F2", 6, 1, 1, 3), stop("F4", 1, 1, 1, 3))
GIVEN_UP = GivenUpHold("1", Fraction(0), make_pitch("C3"), Fraction(4), Fraction(2), "a reason")
TWO_CHORDS: dict[str, Any] = {"harmony": make_harmony("C:4 G:4"), "bars": TWO_BARS}
SUSPENDED = (*melody("r:2 C5:4 B4:2"), *bass("C3:4 G2:4"))
UNTIED = (*melody("r:2 D5:2 B4:4"), *bass("C3:4 G2:4"))
SUS_CHORD: dict[str, Any] = {"harmony": make_harmony("C:4 G.suspended-fourth:4 G:4"), "bars": make_bars(3)}
SUS_TONE = make_note("inner", 4, 2, "C4")
SUS_NOTES = (*melody("E4:12"), SUS_TONE, make_note("inner", 8, 4, "B3"))


CASES = [
    # What the piece asks for.
    Case(
        asks.tell_key,
        facts(),
        "Key: C major.",
        facts(bars=make_bars(1, fifths=1, mode=Mode.MINOR)),
        "Key: E minor.",
    ),
    Case(
        asks.tell_key_changes,
        facts(bars=change_bar(TWO_BARS, 1, key=Key(2))),
        "From bar 2 on the key is D major.",
        facts(bars=TWO_BARS),
    ),
    Case(
        asks.tell_capo,
        facts(capo=2),
        "Capo at fret II: all sounds 2 semitones higher than the page says.",
        facts(),
    ),
    Case(asks.tell_tuning, facts(tuning=DROP_D_TUNING), "Tune string 6 to D.", facts()),
    Case(
        asks.tell_meter,
        facts(bars=make_bars(1, "6/8")),
        "Meter: 6/8, 2 beats in a bar.",
        facts(bars=make_bars(1, "3/4")),
        "Meter: 3/4.",
    ),
    Case(
        asks.tell_meter_changes,
        facts(bars=change_bar(TWO_BARS, 1, meter=make_meter("2/4"))),
        "From bar 2 on the meter is 2/4.",
        facts(bars=TWO_BARS),
    ),
    Case(
        asks.tell_tempo,
        facts(bars=make_bars(1, "6/8")),
        "Full tempo: dotted quarter = 40.",
        facts(),
        "Full tempo: quarter = 60.",
    ),
    Case(
        asks.tell_length,
        facts(bars=make_form(": A : | B")),
        "Length: 2 bars, 3 with the repeats; 0:12 at full tempo.",
        facts(),
        "Length: 1 bar; 0:04 at full tempo.",
    ),
    Case(asks.tell_level, facts(level="early"), "Level: early.", facts(), "Level: intermediate."),
    Case(
        asks.tell_beyond_level,
        facts(beyond_level=("Bar 1: too far.", "Bar 2: too far.")),
        "Beyond it: bar 1: too far (and 1 more).",
        facts(),
    ),
    Case(
        asks.tell_positions,
        facts(SHIFT),
        "Positions: I and V; the hand shifts once, farthest in bar 1, from I to V.",
        facts(SHIFT[:1]),
        "Position: I from first to last.",
    ),
    Case(asks.tell_open_strings_only, facts(), "Every note is an open string.", facts(SHIFT)),
    Case(
        asks.tell_highest_fret, facts(SHIFT), "Highest fret: 8, for C (string 1, finger 4) in bar 1.", facts()
    ),
    Case(
        asks.tell_barres,
        facts(F_BARRE, barres=(make_barre(1, 6, 1, 3),)),
        "Barres: C I in bar 1; the longest lies for 3 beats.",
        facts(),
        "Barres: none.",
    ),
    Case(
        asks.tell_stretch,
        facts([stop("F2", 6, 1), stop("A4", 1, 4)]),
        "Widest stretch: bar 1, on beat 1 fingers 1 and 4 open to 136 mm, "
        "for F (string 6, fret 1) and A (string 1, fret 5).",
        facts([stop("C3", 5, 3), stop("E3", 4, 2)]),
    ),
    Case(
        asks.tell_quickest,
        facts(melody("E4:1/4 E4:1/4")),
        "Quickest strokes: 4.0 a second, in bar 1.",
        facts(),
    ),
    Case(
        asks.tell_right_hand,
        facts(plucked(["imam", "imim", "imim", "imim"])),
        "Right hand: i–m–i–m fills 3 of 4 bars, first in bar 2.",
        facts(plucked(["imam", "imim", "imim"])),
    ),
    # The passes of practice.
    Case(
        passes.tell_melody,
        facts(melody("E4:1 r:1 E4:2")),
        "The melody alone, each note until the next: it rests only in bar 1.",
        facts(),
        "The melody alone, each note until the next: it has no rest.",
    ),
    Case(
        passes.tell_same_finger,
        facts([tune("D4", 2, 3, 0), tune("G4", 1, 3, 1)]),
        "One finger takes two notes in a row on two strings: bar 1, beat 2 (finger 3, D to G).",
        facts([tune("D4", 2, 3, 0), tune("G4", 1, 4, 1)]),
    ),
    Case(
        passes.tell_accompaniment,
        facts((*QUIET, *bass("C3:4"))),
        "Add the accompaniment, softer than the melody: running eighths.",
        facts(),
    ),
    Case(
        passes.tell_damping,
        facts(bass("A2:4 D3:4"), harmony=make_harmony("A:4 G:4")),
        "Damp open basses that the next chord does not have: string 5 in bar 2.",
        facts(bass("A2:4 D3:4"), harmony=make_harmony("A:4 D:4")),
    ),
    Case(
        passes.tell_holds,
        facts(HELD),
        "Once through for the holds only: a finger stays while another is set down in bar 1.",
        facts([stop("C3", 5, 3, 0, 2), stop("C4", 2, 1, 3, 1)]),
    ),
    Case(
        passes.tell_given_up,
        facts(given_up_holds=(GIVEN_UP,)),
        "Written shorter than the music would have it: C in bar 1, beat 1.",
        facts(),
    ),
    Case(
        passes.tell_hard_bars,
        facts(melody("E4:1/8 " * 32)),
        "The hard bars by themselves, hardest first, each from the bar before it: bar 1.",
        facts(HELD),
    ),
    Case(
        passes.tell_next_bars,
        facts(HELD),
        "No bar is hard; these ask most, each from the bar before it: bar 1.",
        facts(),
    ),
    Case(
        passes.tell_ladder,
        facts(tempo_quarters_per_minute=Fraction(100)),
        "Up to tempo, quarters a minute: 80 – 89 – 100.",
        facts(),
        "Up to tempo, quarters a minute: 48 – 54 – 60.",
    ),
    Case(
        passes.tell_speed,
        facts(melody("E4:1/4 E4:1/4")),
        "At 30 the quickest strokes come 2.0 a second, at 60 4.0.",
        facts(melody("E4:1/2 E4:1/2")),
    ),
    Case(
        passes.tell_next_rung, facts(HELD), "Take the next one when bar 1 went well twice in a row.", facts()
    ),
    # A bar: where to look ahead.
    Case(
        ahead.tell_shifts,
        facts(SHIFT),
        "On beat 2 the hand goes from position I to V, for C (string 1, finger 4).",
        facts(SHIFT[:1]),
    ),
    Case(
        ahead.tell_shifts,
        facts(GUIDED),
        "On beat 2 the hand goes from position I to V, for C (string 1, finger 4); "
        "finger 4 guides it along string 1 from fret 3.",
        facts(SHIFT),
        "On beat 2 the hand goes from position I to V, for C (string 1, finger 4).",
    ),
    Case(
        ahead.tell_shifts,
        facts(FREE),
        "On beat 3 the hand goes from position I to V, for C (string 1, finger 4); "
        "no finger is held from beat 2 on.",
        facts(SHIFT),
        "On beat 2 the hand goes from position I to V, for C (string 1, finger 4).",
    ),
    Case(
        ahead.tell_barres_ahead,
        facts(F_BARRE, barres=(make_barre(1, 6, 1, 3),)),
        "On beat 2 lay C I over strings 6 to 1, until the end.",
        facts(F_BARRE),
    ),
    Case(
        ahead.tell_barres_ahead,
        facts((stop("C#4", 2, 1, 0, 1), *F_BARRE), barres=(make_barre(1, 6, 1, 3),)),
        "On beat 2 lay C I over strings 6 to 1, until the end; "
        "finger 1 comes straight from C# (string 2, finger 1).",
        facts((stop("C4", 2, 1, 0, "1/2"), *F_BARRE), barres=(make_barre(1, 6, 1, 3),)),
        "On beat 2 lay C I over strings 6 to 1, until the end; finger 1 is free from beat 1½.",
    ),
    Case(
        ahead.tell_barres_ahead,
        facts((stop("C4", 2, 1, 0, 1), *F_BARRE), barres=(make_barre(1, 6, 1, 3),)),
        "On beat 2 lay C I over strings 6 to 1, until the end; "
        "finger 1 lies at this fret already, on C (string 2, finger 1).",
        facts((stop("C#4", 2, 1, 0, 1), *F_BARRE), barres=(make_barre(1, 6, 1, 3),)),
        "On beat 2 lay C I over strings 6 to 1, until the end; "
        "finger 1 comes straight from C# (string 2, finger 1).",
    ),
    Case(
        ahead.tell_turns,
        facts([tune("G4", 1, 3, 0, 4), tune("C5", 1, 4, 4, 4)], bars=make_form(": A | B :")),
        "From bar 2 to bar 1 the hand shifts from position V to I within 4.0 seconds.",
        facts([tune("G4", 1, 3, 0, 4), tune("C5", 1, 4, 4, 4)], bars=TWO_BARS),
    ),
    # A bar: what stays and what goes.
    Case(
        holding.tell_stays,
        facts(HELD),
        "Stays down: C (string 5, finger 3) from beat 1 to the end.",
        facts([HELD[0]]),
    ),
    Case(
        holding.tell_rings_on,
        facts(rings=[ring(stop("C3", 5, 3), "3", Ending.PIECE_ENDS)]),
        "May stay down longer than written: C (string 5, finger 3) until beat 4.",
        facts(rings=[ring(stop("C3", 5, 3), "1", Ending.FINGER_MOVES)]),
    ),
    Case(
        holding.tell_rings_on,
        facts(rings=[ring(stop("C3", 5, 3), "3", Ending.PIECE_ENDS)]),
        "May stay down longer than written: C (string 5, finger 3) until beat 4.",
        facts(rings=[ring(make_note("bass", 0, 1, "A2"), "3", Ending.PIECE_ENDS)]),
    ),
    Case(
        holding.tell_let_go,
        facts(rings=[ring(stop("C3", 5, 3), "3", Ending.FINGER_MOVES, "bar 1, beat 4: finger 3 is needed")]),
        "Let go in time: C (string 5, finger 3) rings until beat 4: finger 3 is needed.",
        facts(rings=[ring(stop("C3", 5, 3), "3", Ending.HARMONY_CHANGES)]),
    ),
    Case(
        holding.tell_let_go,
        facts(
            rings=[
                ring(stop("C3", 5, 3), "3", Ending.HAND_SHIFTS, "bar 1, beat 4: the hand shifts"),
                ring(stop("E3", 4, 2), "3", Ending.HAND_SHIFTS, "bar 1, beat 4: the hand shifts"),
            ]
        ),
        "Let go in time: C (string 5, finger 3) and E (string 4, finger 2) ring until beat 4: the hand shifts.",
        facts(rings=[ring(stop("C3", 5, 3), "3", Ending.STRING_STRUCK)]),
    ),
    # A bar: the voices.
    Case(
        leading.tell_dissonances,
        facts(SUSPENDED, **TWO_CHORDS),
        "Suspension 4–3 in the melody: C (string 1, finger 4) goes to B on beat 3; it is prepared on beat 3 of the bar before.",
        facts(UNTIED, **TWO_CHORDS),
        bar=1,
    ),
    Case(
        leading.tell_rung_dissonances,
        facts(SUS_NOTES, rings=[ring(SUS_TONE, "8", Ending.HARMONY_CHANGES)], **SUS_CHORD),
        "Let C (string 2, finger 1) ring until it resolves: it is written shorter.",
        facts(SUS_NOTES, **SUS_CHORD),
        bar=1,
    ),
    Case(
        leading.tell_broken_dissonances,
        facts(SUS_NOTES, **SUS_CHORD),
        "C (string 2, finger 1) breaks off before it resolves.",
        facts(SUS_NOTES, rings=[ring(SUS_TONE, "8", Ending.HARMONY_CHANGES)], **SUS_CHORD),
        bar=1,
    ),
    Case(
        leading.tell_inner_steps,
        facts((*melody("E4:8"), *make_line("inner", "C4:4 B3:4")), **TWO_CHORDS),
        "The inner voice goes by step: C (string 2, finger 1) to B on beat 1.",
        facts((*melody("E4:8"), *make_line("inner", "C4:4 G3:4")), **TWO_CHORDS),
        bar=1,
    ),
    Case(
        leading.tell_led_changes,
        facts((*melody("E4:8"), *make_line("inner", "C4:4 B3:4")), **TWO_CHORDS),
        "At 1 of 1 changes of chord the inner voice keeps its tone or goes on by step.",
        facts(melody("E4:8"), **TWO_CHORDS),
    ),
    # With care.
    Case(
        care.tell_strain,
        facts(F_BARRE, barres=(make_barre(1, 6, 1, 3),)),
        "Give the hand a rest after the barres in bar 1.",
        facts(),
    ),
]


def told(case: Case, of: Facts) -> str:
    if case.rule.__module__.rpartition(".")[2] in BAR_ROOMS and case.rule not in PIECE_RULES_THERE:
        return " ".join(case.rule(of, of.bars[case.bar]))  # type: ignore[call-arg]
    return " ".join(case.rule(of))  # type: ignore[call-arg]


def every_rule() -> set[str]:
    rooms = (ahead, asks, care, holding, leading, passes)
    return {name for room in rooms for name in vars(room) if name.startswith("tell_")}


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.rule.__name__)
def test_a_sentence_is_told_where_its_fact_holds_and_only_there(case: Case) -> None:
    assert told(case, case.holds) == case.sentence
    assert told(case, case.fails) == case.instead


def test_every_rule_is_shown_above() -> None:
    assert {case.rule.__name__ for case in CASES} == every_rule()


def test_long_lists_are_counted_from_the_fourth_place_on() -> None:
    line = [tune("D4" if onset % 2 else "G4", 1 + onset % 2, 3, onset) for onset in range(7)]
    (sentence,) = passes.tell_same_finger(facts(line))
    assert sentence.count("finger 3") == 3
    assert sentence.endswith("; and 3 more.")


def test_of_many_bars_eight_are_named_and_the_others_counted() -> None:
    numbers = [str(number) for number in range(1, 11)]
    assert name_bars(numbers[:9]) == "bars 1, 2, 3, 4, 5, 6, 7, 8 and 9"
    assert name_bars(numbers) == "bars 1, 2, 3, 4, 5, 6, 7, 8 and 2 more"
    assert name_bars(["3", "3"]) == "bar 3"


def test_where_the_melody_often_rests_the_bars_are_counted() -> None:
    often = passes.tell_melody(facts(melody("E4:3 r:1 " * 10)))
    assert list(often) == ["The melody alone, each note until the next: it rests in 9 of 10 bars."]


def test_a_barre_that_goes_on_over_more_strings_is_laid_once() -> None:
    parts = (make_barre(1, 2, 1, 1), make_barre(1, 6, 2, 1), make_barre(1, 3, 3, 1))
    piece = facts(F_BARRE, barres=parts)
    assert list(asks.tell_barres(piece)) == ["Barres: C I in bar 1; the longest lies for 3 beats."]
    assert list(ahead.tell_barres_ahead(piece, piece.bars[0])) == [
        "On beat 2 lay C I over strings 6 to 1, until the end."
    ]


@pytest.mark.parametrize(
    "other", [make_barre(3, 6, 2, 1), make_barre(1, 6, "5/2", 1), make_barre(1, 2, 2, 1, 1, 4)]
)
def test_another_fret_a_gap_or_another_finger_is_another_barre(other: Barre) -> None:
    assert len(facts(F_BARRE, barres=(make_barre(1, 6, 1, 1), other)).barres) == 2


def test_sections_are_told_with_their_bars() -> None:
    sections = (TexturedBars("1", "1", "arpeggio"), TexturedBars("2", "2", "bare"))
    piece = facts((*melody("E4:8"), *bass("C3:8")), sections=sections, bars=TWO_BARS)
    assert " ".join(passes.tell_accompaniment(piece)) == (
        "Add the accompaniment, softer than the melody: arpeggio from bar 1 to 1 and basses alone from bar 2 to 2."
    )


@pytest.mark.parametrize(
    ("quickest_per_second", "first"),
    [(0.0, 80), (2.53, 80), (3.375, 60), (4.05, 50), (100.0, 50)],
)
def test_the_ladder_begins_relaxed_but_within_half_and_four_fifths_of_the_tempo(
    quickest_per_second: float, first: int
) -> None:
    """Three quarters of the relaxed rate are 2.025 strokes a second."""
    rungs = climb(Fraction(100), quickest_per_second)
    assert rungs[0] == first
    assert rungs[-1] == 100


@pytest.mark.parametrize("full", [1, 7, 40, 208, 400])
def test_the_rungs_rise_by_a_seventh_of_the_one_before_at_most(full: int) -> None:
    rungs = climb(Fraction(full), 5.0)
    assert rungs[-1] == full
    assert all(one < other <= one * 1.13 + 1 for one, other in pairwise(rungs))
