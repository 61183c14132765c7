"""Random hands on the whole guitar, against the naive sampling by 64ths."""

from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from apoyando.model.arrangement import Arrangement, Barre, Note, Role
from apoyando.model.instrument import Fret, StringNumber
from apoyando.model.time import Span
from apoyando.proofing import Breach, Proof, Refutation, prove_barres, prove_holds, prove_melody, prove_reach
from builders import make_arrangement, make_bars
from proofing import naive
from proofing.scene import FINGERS, INTERMEDIATE, barre_note, breaches_of, song_of, stop, witnesses_of
from proofing.test_witnesses import check

SIXTEENTHS_OF_THE_BAR = 16

PROVERS: dict[str, Callable[[Arrangement], Proof | Refutation]] = {
    "holds": prove_holds,
    "reach": lambda arrangement: prove_reach(arrangement, INTERMEDIATE),
    "barres": prove_barres,
}


@st.composite
def spans(draw: st.DrawFn) -> Span:
    onset = draw(st.integers(0, SIXTEENTHS_OF_THE_BAR - 1))
    offset = draw(st.integers(onset + 1, SIXTEENTHS_OF_THE_BAR))
    return Span(Fraction(onset, 4), Fraction(offset, 4))


@st.composite
def notes(draw: st.DrawFn) -> Note:
    """A stopped or open note in the first six frets; the hand's neighbourhood, so that some is possible."""
    fret = draw(st.integers(0, 6))
    finger = draw(st.integers(1, 4)) if fret else 0
    placed = stop(draw(st.integers(1, 6)), fret, finger)
    return Note(
        role=draw(st.sampled_from(Role)),
        span=draw(spans()),
        pitch=placed.pitch,
        place=placed.place,
        finger=FINGERS[finger],
        in_barre=finger > 0 and draw(st.booleans()),
    )


@st.composite
def barres(draw: st.DrawFn) -> Barre:
    fret, lowest = draw(st.integers(1, 6)), draw(st.integers(2, 6))
    highest, finger = draw(
        st.sampled_from(((1, 1), (1, 1), (1, 2), (1, 3), (lowest - 1, 1), (lowest - 1, 4)))
    )
    return Barre(Fret(fret), StringNumber(lowest), draw(spans()), StringNumber(highest), FINGERS[finger])


@st.composite
def barres_with_notes(draw: st.DrawFn) -> tuple[Barre, list[Note]]:
    """A barre, a note in it for all of its time, and fingers above it."""
    barre = draw(barres())
    string = draw(st.integers(barre.highest_string, barre.lowest_string))
    lying = barre_note(string, barre.fret, finger=barre.finger)
    above = stop(draw(st.integers(1, 6)), barre.fret + draw(st.integers(0, 2)), draw(st.integers(2, 4)))
    return barre, [replace(lying, span=barre.span), replace(above, span=draw(spans()))]


@st.composite
def arrangements(draw: st.DrawFn) -> Arrangement:
    """A few notes anywhere; or a barre with what belongs to it, and perhaps one note anywhere."""
    if draw(st.booleans()):
        laid = draw(st.lists(barres(), max_size=1))
        return make_arrangement(draw(st.lists(notes(), max_size=5)), make_bars(1), barres=tuple(laid))
    barre, lying = draw(barres_with_notes())
    stray = draw(st.lists(notes(), max_size=1))
    return make_arrangement([*lying, *stray], make_bars(1), barres=(barre,))


@settings(deadline=None)
@given(arrangements())
def test_holds_agree_with_the_samples(arrangement: Arrangement) -> None:
    holds = naive.keeps_strings(arrangement) and naive.keeps_fingers(arrangement)
    assert isinstance(prove_holds(arrangement), Proof) is holds


@settings(deadline=None)
@given(arrangements(), st.sampled_from([0.7, 0.85, 1.0, 1.2]))
def test_reach_agrees_with_the_samples(arrangement: Arrangement, hand_size: float) -> None:
    lies = naive.lies_in_order(arrangement) and naive.lies_in_reach(arrangement, INTERMEDIATE, hand_size)
    assert isinstance(prove_reach(arrangement, INTERMEDIATE, hand_size), Proof) is lies


@settings(deadline=None)
@given(arrangements())
def test_barres_agree_with_the_samples(arrangement: Arrangement) -> None:
    assert isinstance(prove_barres(arrangement), Proof) is naive.lays_barres(arrangement)


@settings(deadline=None)
@given(arrangements())
def test_the_order_of_the_voices_agrees_with_the_samples(arrangement: Arrangement) -> None:
    order = {Breach.MELODY_COVERED, Breach.VOICES_CROSSED}
    answer = prove_melody(arrangement, song_of(arrangement))
    assert (not order & set(breaches_of(answer))) is naive.keeps_melody_on_top(arrangement)


@settings(deadline=None)
@given(arrangements())
def test_every_witness_of_a_random_arrangement_shows_its_breach(arrangement: Arrangement) -> None:
    for prove in PROVERS.values():
        for witness in witnesses_of(prove(arrangement)):
            check(witness, arrangement, song_of(arrangement))


@pytest.mark.parametrize("rule", PROVERS)
def test_the_random_arrangements_meet_both_answers(rule: str) -> None:
    """A property is worth nothing where all examples are alike."""
    met = set()

    @settings(derandomize=True, deadline=None)
    @given(arrangements())
    def collect(arrangement: Arrangement) -> None:
        if arrangement.barres or rule != "barres":
            met.add(isinstance(PROVERS[rule](arrangement), Proof))

    run: Callable[[], None] = collect
    run()
    assert met == {True, False}
