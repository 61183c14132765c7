"""A guitar of three strings and three frets, a hand of two fingers: every case there is."""

from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction
from itertools import product

from apoyando.model.arrangement import Arrangement, Note
from apoyando.model.time import Span
from apoyando.proofing import Proof, prove_barres, prove_holds, prove_reach
from builders import make_arrangement, make_barre
from proofing import naive
from proofing.scene import barre_note, make_level, stop

FIRST = (4, 8)
SECONDS = (
    (1, 3),
    (1, 4),
    (1, 6),
    (1, 8),
    (1, 9),
    (4, 6),
    (4, 8),
    (4, 9),
    (5, 7),
    (5, 8),
    (5, 9),
    (8, 9),
    (9, 10),
)
"""The thirteen ways in which two stretches of time can lie (Allen, CACM 26(11), 1983)."""

TIGHT = make_level({(1, 2): 50.0})
"""Fingers 1 and 2 reach one fret apart on these frets, not two (35 and 69 mm on one string)."""


def touches() -> Iterator[Note]:
    for string in (1, 2, 3):
        yield stop(string, 0, 0)
        for fret in (1, 2, 3):
            yield stop(string, fret, 1)
            yield barre_note(string, fret)
            yield stop(string, fret, 2)
            yield barre_note(string, fret, finger=2)


def lasting(note: Note, edges: tuple[int, int]) -> Note:
    # In 64ths: a sampling by 64ths meets every edge.
    return replace(note, span=Span(Fraction(edges[0], 16), Fraction(edges[1], 16)))


def two_notes() -> Iterator[Arrangement]:
    bars = make_arrangement([]).bars
    for one, other, edges in product(touches(), touches(), SECONDS):
        yield make_arrangement((lasting(one, FIRST), lasting(other, edges)), bars)


def is_proven(answer: object) -> bool:
    return isinstance(answer, Proof)


def test_the_thirteen_relations_are_all_there_and_all_different() -> None:
    def sign(a: int, b: int) -> int:
        return (a > b) - (a < b)

    relations = {tuple(sign(a, b) for a, b in product(FIRST, second)) for second in SECONDS}
    assert len(relations) == 13


def test_holds_are_proven_exactly_where_no_sample_finds_a_string_or_a_finger_taken() -> None:
    answers = {True: 0, False: 0}
    for arrangement in two_notes():
        holds = naive.keeps_strings(arrangement) and naive.keeps_fingers(arrangement)
        assert is_proven(prove_holds(arrangement)) is holds, arrangement.notes
        answers[holds] += 1
    assert min(answers.values()) > 1000  # both answers are really met


def test_reach_is_proven_exactly_where_no_sample_finds_fingers_crossed_or_too_wide() -> None:
    answers = {True: 0, False: 0}
    for arrangement in two_notes():
        lies = naive.lies_in_order(arrangement) and naive.lies_in_reach(arrangement, TIGHT)
        assert is_proven(prove_reach(arrangement, TIGHT)) is lies, arrangement.notes
        answers[lies] += 1
    assert min(answers.values()) > 1000


def test_barres_are_proven_exactly_where_no_sample_finds_them_hindered() -> None:
    bars = make_arrangement([]).bars
    answers = {True: 0, False: 0}
    for note, edges, fret, extent, finger in product(
        touches(), SECONDS, (1, 2), ((2, 1), (3, 1), (3, 2)), (1, 2)
    ):
        if note.place.string == 2:
            continue  # the anchor's string: a matter of the holds
        lowest, highest = extent
        barre = make_barre(fret, lowest, "1/4", "1/4", highest, finger)
        anchor = lasting(barre_note(2, 1, finger=finger), FIRST)
        arrangement = make_arrangement((anchor, lasting(note, edges)), bars, barres=(barre,))
        lies = naive.lays_barres(arrangement)
        assert is_proven(prove_barres(arrangement)) is lies, (arrangement.notes, barre)
        answers[lies] += 1
    assert min(answers.values()) > 100


def test_two_barres_are_proven_exactly_where_no_sample_finds_them_hindered() -> None:
    bars = make_arrangement([]).bars
    answers = {True: 0, False: 0}
    laid = list(product((1, 2), ((2, 1), (3, 1), (3, 2)), (1, 2)))
    for (fret, (low, high), finger), (other_fret, (other_low, other_high), other_finger) in product(
        laid, laid
    ):
        for edges in SECONDS:
            notes = (
                lasting(barre_note(low, fret, finger=finger), FIRST),
                lasting(barre_note(other_high, other_fret, finger=other_finger), edges),
            )
            onset, offset = (Fraction(edge, 16) for edge in edges)
            barres = (
                make_barre(fret, low, "1/4", "1/4", high, finger),
                make_barre(other_fret, other_low, onset, offset - onset, other_high, other_finger),
            )
            arrangement = make_arrangement(notes, bars, barres=barres)
            lies = naive.lays_barres(arrangement)
            assert is_proven(prove_barres(arrangement)) is lies, (arrangement.notes, barres)
            answers[lies] += 1
    assert min(answers.values()) > 100
