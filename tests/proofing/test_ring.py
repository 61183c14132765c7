"""How long the accompaniment can ring, what ends it, and what would free it."""

from collections.abc import Iterable
from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from apoyando.arranging import arrange_in_key
from apoyando.model.arrangement import Arrangement, Barre, Note, Role
from apoyando.model.plan import Plan
from apoyando.model.ring import Ending, Remedy, Ring
from apoyando.model.time import Span
from apoyando.proofing import Proof, find_rings, prove_barres, prove_holds, prove_reach
from apoyando.reading import load_default_levels, read_song
from builders import change_bar, make_arrangement, make_barre, make_bars, make_harmony
from proofing import naive
from proofing.scene import FINGERS, INTERMEDIATE, barre_note, make_level, stop
from proofing.test_large_world import barres_with_notes, notes

EXAMPLES = Path(__file__).parents[2] / "examples"
SIXTY_FOURTH = Fraction(1, 16)


def sung(note: Note) -> Note:
    return replace(note, role=Role.MELODY)


def scene(*played: Note, harmony: str = "C:4", **more: Any) -> Arrangement:
    return make_arrangement(played, **{"harmony": make_harmony(harmony), "bars": make_bars(1), **more})


def ring_of(note: Note, arrangement: Arrangement, **more: Any) -> Ring:
    level = more.pop("level", INTERMEDIATE)
    return next(ring for ring in find_rings(arrangement, level, **more) if ring.note == note)


def ends(ring: Ring) -> tuple[object, Ending]:
    return ring.until, ring.ending


# The music ends it.


def test_a_note_that_nothing_hinders_rings_until_the_harmony_changes() -> None:
    note = stop(3, 2, 2, 0, "1/2")
    assert ends(ring_of(note, scene(note, harmony="A:2 D:2"))) == (2, Ending.HARMONY_CHANGES)


def test_a_chord_that_is_written_again_is_no_change() -> None:
    note = stop(3, 2, 2, 0, "1/2")
    first, second, third = make_harmony("A:1 A:1 D:2")
    assert first.chord
    again = replace(second, chord=replace(first.chord, text="A major"))
    arrangement = scene(note, harmony="A:4")
    ring = ring_of(note, replace(arrangement, harmony=(first, again, third)))
    assert ends(ring) == (2, Ending.HARMONY_CHANGES)


def test_where_no_chord_is_said_it_rings_on_and_where_none_is_wanted_it_ends() -> None:
    note = stop(3, 2, 2, 0, "1/2")
    assert ring_of(note, scene(note, harmony="A:1 -:1 D:2")).until == 2
    assert ring_of(note, scene(note, harmony="A:1 N.C.:3")).until == 1


def test_a_note_written_into_the_next_chord_rings_until_the_change_after() -> None:
    note = stop(4, 0, 0, 0, "5/2")
    assert ring_of(note, scene(note, harmony="D:2 G:1 C:1")).until == 3


def test_a_note_written_up_to_the_change_has_no_ring_beyond() -> None:
    note = stop(3, 2, 2, 0, 2)
    assert ends(ring_of(note, scene(note, harmony="A:2 D:2"))) == (2, Ending.HARMONY_CHANGES)


def test_the_last_chord_rings_until_the_piece_ends() -> None:
    note = stop(3, 2, 2, 0, "1/2")
    ring = ring_of(note, scene(note))
    assert (*ends(ring), ring.sentence) == (4, Ending.PIECE_ENDS, "the end of the piece")


def test_where_the_player_goes_back_or_jumps_nothing_rings_over() -> None:
    note = stop(3, 2, 2, 3, "1/2")
    bars = change_bar(make_bars(2), 0, repeat_times=2)
    ring = ring_of(note, scene(note, harmony="A:8", bars=bars))
    assert ends(ring) == (4, Ending.FORM_TURNS)
    assert ring_of(note, scene(note, harmony="A:8", bars=make_bars(2))).until == 8


def test_only_the_accompaniment_is_asked() -> None:
    assert find_rings(scene(sung(stop(1, 0, 0)), stop(5, 3, 3)), INTERMEDIATE)[0].note.place.string == 5
    assert len(find_rings(scene(sung(stop(1, 0, 0))), INTERMEDIATE)) == 0
    assert find_rings(make_arrangement([]), INTERMEDIATE) == ()


# The string.


def test_it_ends_where_its_string_is_struck_for_another_note() -> None:
    note, taker = stop(2, 1, 1, 0, "1/2"), stop(2, 3, 3, 2, 1)
    ring = ring_of(note, scene(note, taker))
    assert (*ends(ring), ring.taker) == (2, Ending.STRING_STRUCK, taker)
    assert ring.sentence == "bar 1, beat 3: string 2 is struck for D (finger 3, string 2 fret 3)"


def test_the_same_note_struck_again_is_no_loss_and_asks_for_no_remedy() -> None:
    note, again = stop(2, 1, 1, 0, "1/2"), stop(2, 1, 1, 2, 1)
    ring = ring_of(note, scene(note, again))
    assert (*ends(ring), ring.remedy) == (2, Ending.STRUCK_AGAIN, None)
    assert not ring.ending.is_loss


def test_an_open_string_needs_no_finger() -> None:
    note = stop(4, 0, 0, 0, "1/2")
    busy = [stop(3, 2, finger, finger, 1) for finger in (1, 2, 3)]
    assert ends(ring_of(note, scene(note, *busy))) == (4, Ending.PIECE_ENDS)


# The finger.


def test_it_ends_where_its_finger_goes_elsewhere_and_not_a_64th_before() -> None:
    note, taker = stop(2, 1, 1, 0, "1/2"), stop(3, 2, 1, "31/16", 1)
    ring = ring_of(note, scene(note, taker))
    assert (*ends(ring), ring.taker) == (Fraction(31, 16), Ending.FINGER_MOVES, taker)


def test_fingers_cross_where_a_higher_number_goes_lower() -> None:
    # Finger 3 on fret 2, then finger 2 on fret 3: the lower number would lie higher.
    note, taker = stop(4, 2, 3, 0, "1/2"), stop(1, 3, 2, 2, 1)
    assert ends(ring_of(note, scene(note, taker))) == (2, Ending.FINGERS_CROSS)


def test_it_ends_where_the_hand_shifts_too_far_away_to_keep_the_finger() -> None:
    note, taker = stop(2, 1, 1, 0, "1/2"), stop(1, 8, 4, 2, 1)
    ring = ring_of(note, scene(note, taker))
    assert ends(ring) == (2, Ending.HAND_SHIFTS)
    assert ring.sentence.endswith("the hand goes to position V for C (finger 4, string 1 fret 8)")


def test_reach_is_that_of_the_level_and_of_the_hand() -> None:
    # Fingers 1 and 3 on frets 1 and 3 of the outer strings: 67.9 mm along the neck and 44.4 mm
    # across it are 81.2 mm (650 mm scale, a quarter of a fret behind the wire).
    note, taker = stop(6, 1, 1, 0, "1/2"), stop(1, 3, 3, 2, 1)
    tight = make_level({(1, 3): 81.0})
    assert ends(ring_of(note, scene(note, taker), level=tight)) == (2, Ending.OUT_OF_REACH)
    assert ring_of(note, scene(note, taker), level=tight, hand_size=1.01).until == 4


# The barre.


def test_a_barre_over_an_open_string_ends_its_ring_and_one_beside_it_does_not() -> None:
    note = stop(5, 0, 0, 0, "1/2")
    above = [barre_note(1, 2, 2, 2), barre_note(3, 2, 2, 2)]
    full, half = make_barre(2, 5, 2, 2), make_barre(2, 4, 2, 2)
    ring = ring_of(note, scene(note, *above, barres=(full,)))
    assert (*ends(ring), ring.barre) == (2, Ending.BARRE_LAID, full)
    assert ring_of(note, scene(note, *above, barres=(half,))).until == 4


def test_a_finger_tip_may_be_laid_flat_where_it_stands() -> None:
    note = stop(6, 1, 1, 0, "1/2")
    barre = make_barre(1, 6, 2, 2)
    ring = ring_of(note, scene(note, barre_note(1, 1, 2, 2), barre_note(2, 1, 2, 2), barres=(barre,)))
    assert (*ends(ring), ring.carriers) == (4, Ending.PIECE_ENDS, (barre,))


def test_a_note_of_a_barre_rings_while_the_barre_can_be_kept() -> None:
    note, other = barre_note(3, 2, 0, "1/2"), barre_note(2, 2, 0, "1/2")
    struck = stop(1, 3, 3, 1, "1/2")
    barre = make_barre(2, 3, 0, "1/2")
    kept = ring_of(note, scene(note, other, struck, barres=(barre,)))
    assert kept.until == 2
    assert kept.carriers == (replace(barre, span=Span(Fraction(0), Fraction(2))),)

    opened = ring_of(note, scene(note, other, stop(1, 0, 0, 1, "1/2"), barres=(barre,)))
    assert ends(opened) == (1, Ending.BARRE_LIFTED)


def test_a_note_goes_over_from_one_barre_into_the_next_at_its_fret() -> None:
    note, other = barre_note(3, 2, 0, "1/2"), barre_note(2, 2, 0, "1/2")
    later = [barre_note(1, 2, 1, 1), barre_note(2, 2, 1, 1)]
    first, second = make_barre(2, 3, 0, "1/2"), make_barre(2, 4, 1, 1)
    ring = ring_of(note, scene(note, other, *later, harmony="A:3 D:1", barres=(first, second)))
    assert ring.until == 3
    assert ring.carriers == (
        replace(first, span=Span(Fraction(0), Fraction(1))),
        replace(second, span=Span(Fraction(1), Fraction(3))),
    )


def test_a_barre_is_kept_no_longer_than_the_level_allows() -> None:
    note, other = barre_note(3, 2, 0, "1/2"), barre_note(2, 2, 0, "1/2")
    arrangement = scene(note, other, barres=(make_barre(2, 3, 0, "1/2"),))
    assert ends(ring_of(note, arrangement)) == (2, Ending.BARRE_TIRES)
    patient = make_level(barre_quarters=Fraction(3))
    assert ends(ring_of(note, arrangement, level=patient)) == (3, Ending.BARRE_TIRES)
    free = make_level(barre_quarters=Fraction(64))
    assert ends(ring_of(note, arrangement, level=free)) == (4, Ending.PIECE_ENDS)


def f_chord(*melody: Note) -> Arrangement:
    """The small F chord: half barre on strings 1 and 2, fingers 2 and 3 on strings 3 and 4."""
    below = [stop(4, 3, 3, 0, 4), stop(3, 2, 2, "1/2", "1/2"), barre_note(2, 1, 1, "1/2")]
    barre = make_barre(1, 2, 0, "3/2")
    return scene(*below, *melody, harmony="F:4", barres=(barre,))


def test_an_f_chord_is_held_under_a_moving_melody() -> None:
    """Common practice, no source: the little finger plays G and the barre stays for F."""
    melody = [sung(barre_note(1, 1, 0, "3/2")), sung(stop(1, 3, 4, "3/2", "1/2")), sung(stop(1, 3, 4, 2, 2))]
    rings = {
        str(ring.note.pitch): ring
        for ring in find_rings(f_chord(*melody), make_level(barre_quarters=Fraction(4)))
    }
    assert {name: ring.until for name, ring in rings.items()} == {"F3": 4, "A3": 4, "C4": 4}


def test_the_open_e_lifts_the_half_barre_of_the_f_chord_and_the_rest_stays() -> None:
    """Common practice, no source."""
    melody = [sung(barre_note(1, 1, 0, "3/2")), sung(stop(1, 0, 0, "3/2", "5/2"))]
    rings = {str(ring.note.pitch): ring for ring in find_rings(f_chord(*melody), INTERMEDIATE)}
    assert ends(rings["A3"]) == (4, Ending.PIECE_ENDS)
    assert ends(rings["C4"]) == (Fraction(3, 2), Ending.BARRE_LIFTED)
    assert rings["C4"].taker == melody[1]


def test_a_suspension_over_a_half_barre_stays_until_its_open_string() -> None:
    """G7sus4 to G7: half barre I for F and C, and C resolves to the open B (common practice, no source)."""
    suspended, resolved = barre_note(2, 1, "1/2", "1/2"), stop(2, 0, 0, 2, 2)
    tune = replace(sung(barre_note(1, 1, 0, 4)), in_barre=True)
    bass = stop(6, 3, 3, 0, 4)
    arrangement = scene(
        tune,
        bass,
        suspended,
        resolved,
        harmony="G.suspended-fourth:2 G.dominant:2",
        barres=(make_barre(1, 2, "1/2", "1/2"),),
    )
    ring = ring_of(suspended, arrangement)
    assert ends(ring) == (2, Ending.HARMONY_CHANGES)
    assert [barre.span.offset for barre in ring.carriers] == [2]
    assert is_possible(let_ring(arrangement, [ring]))


def test_in_d_sus4_the_little_finger_stays_until_d_comes() -> None:
    """First position, fingers 1 3 4, then 2 takes F# (common practice, no source)."""
    suspended = stop(1, 3, 4, "1/2", "1/2")
    others = [stop(4, 0, 0, 0, 2), stop(3, 2, 1, 1, "1/2"), stop(2, 3, 3, "3/2", "1/2")]
    arrangement = scene(suspended, *others, stop(1, 2, 2, 2, 1), harmony="D.suspended-fourth:2 D:2")
    assert ends(ring_of(suspended, arrangement)) == (2, Ending.HARMONY_CHANGES)


# What would free it.


def remedy_of(note: Note, *others: Note, **more: Any) -> Remedy | None:
    return ring_of(note, scene(note, *others, **more)).remedy


def test_the_note_that_takes_the_finger_may_take_another() -> None:
    note, taker = stop(2, 1, 1, 0, "1/2"), stop(3, 2, 1, 2, 1)
    remedy = remedy_of(note, taker)
    assert remedy
    assert (remedy.note, remedy.instead) == (taker, replace(taker, finger=FINGERS[2]))
    assert remedy.rings_until == 4
    assert remedy.sentence == (
        "with A (finger 1, string 3 fret 2) played by finger 2 it rings until bar 1, beat 5"
    )


def test_where_no_finger_helps_the_taker_may_go_to_another_place() -> None:
    # E on string 2 fret 5 strikes C's string; string 1 gives it open.
    note, taker = stop(2, 1, 1, 0, "1/2"), sung(stop(2, 5, 4, 2, 1))
    remedy = remedy_of(note, taker)
    assert remedy
    assert remedy.instead
    assert (remedy.note, str(remedy.instead.place)) == (taker, "string 1 open")


def test_where_the_taker_has_no_other_way_the_note_itself_may() -> None:
    # Low G has one place. There finger 4 would cross finger 3 and finger 1 the second, which is busy.
    note, taker, busy = stop(2, 3, 3, 0, "1/2"), stop(6, 3, 3, 2, 1), stop(5, 2, 2, 2, 1)
    remedy = remedy_of(note, taker, busy)
    assert remedy
    assert (remedy.note, remedy.instead) == (note, replace(note, finger=FINGERS[4]))
    assert remedy.sentence == "with it played by finger 4 it rings until bar 1, beat 5"


def test_an_inner_note_that_nothing_else_moves_may_be_left_out_and_a_melody_note_never() -> None:
    # Low G# has one place on the guitar up to fret 7, and string 6 is needed for both.
    note, taker = stop(6, 3, 3, 0, "1/2"), stop(6, 4, 4, 2, 1)
    left_out = remedy_of(note, taker)
    assert left_out
    assert (left_out.note, left_out.instead) == (taker, None)
    assert "left out" in left_out.sentence
    assert remedy_of(note, sung(taker)) is None


def test_a_remedy_keeps_to_the_frets_of_the_level() -> None:
    # D on string 2 is on string 3 at fret 7 too.
    note, taker = stop(2, 0, 0, 0, "1/2"), sung(stop(2, 3, 4, 2, 1))
    arrangement = scene(note, taker)
    seventh = ring_of(note, arrangement, level=make_level(melody_highest_fret=7)).remedy
    assert seventh
    assert seventh.instead
    assert str(seventh.instead.place) == "string 3 fret 7"
    assert ring_of(note, arrangement, level=make_level(melody_highest_fret=6)).remedy is None


# All of it, on random hands, against the naive rules.


def is_possible(arrangement: Arrangement) -> bool:
    return (
        naive.keeps_strings(arrangement)
        and naive.keeps_fingers(arrangement)
        and naive.lies_in_order(arrangement)
        and naive.lies_in_reach(arrangement, INTERMEDIATE)
        and naive.lays_barres(arrangement)
    )


def let_ring(arrangement: Arrangement, rings: Iterable[Ring]) -> Arrangement:
    """The notes as long as they can ring, and the barres as they must be kept for it."""
    by_note = {id(ring.note): ring for ring in rings}
    barres = {(b.finger, b.fret, b.lowest_string, b.span.onset): b for b in arrangement.barres}
    for ring in by_note.values():
        for carrier in ring.carriers:
            key = (carrier.finger, carrier.fret, carrier.lowest_string, carrier.span.onset)
            barres[key] = max(barres[key], carrier, key=lambda barre: barre.span.offset)
    return replace(
        arrangement,
        notes=tuple(
            _longer(note, by_note[id(note)]) if id(note) in by_note else note for note in arrangement.notes
        ),
        barres=tuple(barres.values()),
    )


def _longer(note: Note, ring: Ring) -> Note:
    span = Span(note.onset, ring.until)
    return replace(note, span=span, in_barre=note.in_barre or bool(ring.carriers))


def a_little_longer(ring: Ring) -> Ring:
    until = ring.until + SIXTY_FOURTH
    if not ring.carriers:
        return replace(ring, until=until)
    *first, last = ring.carriers
    kept = replace(last, span=Span(last.span.onset, max(last.span.offset, until)))
    return replace(ring, until=until, carriers=(*first, kept))


def play_remedy(arrangement: Arrangement, ring: Ring, remedy: Remedy) -> Arrangement:
    """The arrangement with the remedy, and with the note as long as it rings then."""
    played: list[Note] = []
    for note in arrangement.notes:
        new = remedy.instead if note is remedy.note else note
        if new and note is ring.note:
            new = replace(new, span=Span(note.onset, remedy.rings_until))
        if new:
            played.append(new)
    return replace(arrangement, notes=tuple(played))


@st.composite
def possible_hands(draw: st.DrawFn, *, with_barre: bool) -> Arrangement:
    """Notes one after another, each kept only if the hand can play all of them."""
    harmony = make_harmony(draw(st.sampled_from(("C:4", "C:2 G:2", "C:1 F:3", "C:3 -:1"))))
    barres: tuple[Barre, ...] = ()
    arrangement = make_arrangement([], make_bars(1), harmony=harmony)
    if with_barre:
        barre, lying = draw(barres_with_notes())
        barres = (barre,)
        arrangement = replace(arrangement, notes=(lying[0],), barres=barres)
    for note in draw(st.lists(notes(), min_size=2, max_size=9)):
        more = replace(arrangement, notes=(*arrangement.notes, replace(note, in_barre=False)))
        arrangement = more if is_possible(more) else arrangement
    return arrangement


hands = possible_hands(with_barre=False) | possible_hands(with_barre=True)


@settings(max_examples=150, deadline=None)
@given(hands)
def test_all_that_can_ring_can_ring_at_once(arrangement: Arrangement) -> None:
    rings = find_rings(arrangement, INTERMEDIATE)
    assert is_possible(let_ring(arrangement, rings)) or not is_possible(arrangement)


@settings(max_examples=150, deadline=None)
@given(hands)
def test_no_note_can_ring_a_64th_longer_where_the_hand_ends_it(arrangement: Arrangement) -> None:
    for ring in find_rings(arrangement, INTERMEDIATE):
        assert ring.note.offset <= ring.until <= ring.wanted_until
        if ring.taker or (ring.barre and ring.ending is not Ending.BARRE_TIRES):
            assert not is_possible(let_ring(arrangement, [a_little_longer(ring)]))


@settings(max_examples=150, deadline=None)
@given(hands)
def test_the_note_or_barre_that_is_named_is_enough_to_end_the_ring(arrangement: Arrangement) -> None:
    for ring in find_rings(arrangement, INTERMEDIATE):
        if ring.taker and not ring.barre:
            longer = a_little_longer(ring)
            assert ring.taker.span.contains(ring.until)
            two = tuple(note for note in arrangement.notes if note is ring.note or note is ring.taker)
            assert not is_possible(let_ring(replace(arrangement, notes=two), [longer]))
        elif ring.taker is None and ring.barre is None:
            assert ring.until == ring.wanted_until


@settings(max_examples=100, deadline=None)
@given(possible_hands(with_barre=False))
def test_a_remedy_can_be_played_and_the_note_rings_longer_with_it(arrangement: Arrangement) -> None:
    for ring in find_rings(arrangement, INTERMEDIATE):
        if ring.remedy:
            assert ring.remedy.rings_until > ring.until
            assert is_possible(play_remedy(arrangement, ring, ring.remedy))


@pytest.mark.parametrize("name", ["first-light.abc", "greensleeves.abc"])
def test_every_ring_of_a_real_piece_is_certified_by_the_proofs_of_the_room(name: str) -> None:
    level = load_default_levels()["intermediate"]
    song = read_song((EXAMPLES / name).read_bytes(), name)
    arrangement = arrange_in_key(song, Plan(), level, song.key)
    rings = find_rings(arrangement, level)
    ringing = let_ring(arrangement, rings)
    assert len(rings) == len(arrangement.voice(Role.BASS, Role.INNER))
    assert sum(ring.until > ring.note.offset for ring in rings) > len(rings) / 10
    assert isinstance(prove_holds(ringing), Proof)
    assert isinstance(prove_reach(ringing, level), Proof)
    assert isinstance(prove_barres(ringing), Proof)
