"""From an arrangement to written signs. Conventions of notation: common practice, no source."""

from collections.abc import Iterable, Sequence
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from apoyando.engraving.notation.score import Event, NotatedBar, NotatedScore, Silence, Sounding, notate
from apoyando.model.arrangement import Arrangement, Note, Role
from apoyando.model.song import Bar
from builders import make_arrangement, make_bars, make_line, make_note, small_arrangement


def notated_bar(*lines: Iterable[Note], meter: str = "4/4", index: int = 0) -> NotatedBar:
    notes = [note for line in lines for note in line]
    bars = make_bars(index + 1, meter) if meter != "4/4" else None
    return notate(make_arrangement(notes, bars)).bars[index]


def in_letters(events: Sequence[Event]) -> str:
    """``E4:1`` a note and its written quarters, ``~`` tied on, ``R`` a shown rest, ``_`` a hidden one."""
    return " ".join(_letters(event) for event in events)


def _letters(event: Event) -> str:
    if isinstance(event, Silence):
        return ("R" if event.is_shown else "_") + ("bar" if event.is_whole_bar else str(event.value.quarters))
    pitches = "+".join(str(note.pitch) for note in event.notes)
    return f"{pitches}:{event.value.quarters}" + ("~" if event.is_tied_to_next else "")


# --- voices ----------------------------------------------------------------------------


def test_the_melody_is_voice_1_the_bass_2_and_the_inner_voice_3() -> None:
    bar = notate(small_arrangement()).bars[0]
    assert {voice: in_letters(events) for voice, events in bar.voices.items()} == {
        1: "E4:1 G4:1 C5:2",
        2: "C3:2 C3:2",
        3: "_1/2 E3:1/2 _1/2 G3:1/2 _1/2 E3:1/2 G3:1/2 E3:1/2",
    }


def test_bass_and_inner_voice_are_one_voice_where_they_never_sound_together() -> None:
    bar = notated_bar(
        make_line("melody", "C5:4"),
        make_line("bass", "C3:1/2 r:3/2 G2:1/2"),
        make_line("inner", "r:1/2 E3:1/2 G3:1/2 E3:1/2 r:1/2 E3:3/2"),
    )
    assert in_letters(bar.voices[2]) == "C3:1/2 E3:1/2 G3:1/2 E3:1/2 G2:1/2 E3:1/2~ E3:1"
    assert set(bar.voices) == {1, 2}


def test_one_common_moment_is_enough_to_keep_them_apart() -> None:
    bar = notated_bar(make_line("bass", "C3:1"), make_line("inner", "r:1/2 E3:1/2"))
    assert set(bar.voices) == {1, 2, 3}


def test_an_inner_voice_alone_is_written_in_voice_2() -> None:
    assert set(notated_bar(make_line("inner", "E3:4")).voices) == {1, 2}


def test_what_is_tied_over_the_barline_keeps_its_voice() -> None:
    score = notate(
        make_arrangement((*make_line("bass", "C3:4 r:4"), *make_line("inner", "r:2 E3:3 G3:1 E3:2")))
    )
    assert set(score.bars[0].voices) == {1, 2, 3}
    assert set(score.bars[1].voices) == {1, 3}, "the second bar alone would be one voice 2"


def test_a_bar_without_accompaniment_has_no_other_voice_at_all() -> None:
    bars = make_bars(1, pickup=1)
    score = notate(make_arrangement(make_line("melody", "G4:1 C5:4") + make_line("bass", "r:1 C3:4"), bars))
    assert set(score.bars[0].voices) == {1}
    assert set(score.bars[1].voices) == {1, 2}


def test_notes_struck_and_released_together_are_a_chord_lowest_first() -> None:
    bar = notated_bar(make_line("inner", "G3:1 E3+C4+G3:1 E3:2"))
    assert in_letters(bar.voices[2]) == "G3:1 E3+G3+C4:1 E3:2"
    assert [event.note_ids for event in bar.voices[2] if isinstance(event, Sounding)][1] == (
        "m0v2e1n0",
        "m0v2e1n1",
        "m0v2e1n2",
    )


def test_bass_and_inner_notes_of_one_length_are_one_chord_in_one_voice() -> None:
    bar = notated_bar(make_line("bass", "C3:2 G2:2"), make_line("inner", "E3+G3:2 B3:2"))
    assert in_letters(bar.voices[2]) == "C3+E3+G3:2 G2+B3:2"


def test_what_overlaps_in_its_own_role_gets_a_voice_of_its_own_and_is_not_lost() -> None:
    notes = [make_note("inner", 0, 2, "E3"), make_note("inner", 1, 2, "G3"), make_note("inner", 1, 3, "C4")]
    bar = notated_bar(notes)
    assert {voice: in_letters(events) for voice, events in bar.voices.items() if voice > 1} == {
        3: "E3:2 _2",
        4: "_1 G3:1~ G3:1 _1",
        5: "_1 C4:1~ C4:2",
    }


# --- rests -----------------------------------------------------------------------------


def test_a_rest_of_the_melody_is_shown_if_it_lasts_a_beat() -> None:
    accompaniment = make_line("bass", "C3:4")
    assert in_letters(notated_bar(make_line("melody", "E4:3"), accompaniment).voices[1]) == "E4:3 R1"
    assert in_letters(notated_bar(make_line("melody", "E4:5/2 r:1 G4:1/2"), accompaniment).voices[1]) == (
        "E4:2~ E4:1/2 _1/2 _1/2 G4:1/2"
    ), "as long as a beat, but no beat is silent from start to end"


def test_a_shorter_rest_is_shown_only_where_nothing_else_sounds_through_it() -> None:
    melody = make_line("melody", "E4:1/2 r:1/2 E4:3")
    assert in_letters(notated_bar(melody, make_line("bass", "C3:4")).voices[1]).startswith("E4:1/2 _1/2")
    assert in_letters(notated_bar(melody, make_line("bass", "C3:1/2")).voices[1]).startswith("E4:1/2 R1/2")
    assert in_letters(notated_bar(melody, make_line("bass", "C3:3/4")).voices[1]).startswith("E4:1/2 R1/2")


def test_the_beat_of_a_compound_meter_is_dotted() -> None:
    bass = make_line("bass", "C3:3")
    two_eighths = notated_bar(make_line("melody", "E4:1/2 r:1 E4:3/2"), bass, meter="6/8")
    assert in_letters(two_eighths.voices[1]) == "E4:1/2 _1/2 _1/2 E4:3/2"
    whole_beat = notated_bar(make_line("melody", "E4:3/2"), bass, meter="6/8")
    assert in_letters(whole_beat.voices[1]) == "E4:3/2 R3/2"


def test_a_melody_silent_for_the_bar_has_the_whole_bar_rest_in_any_meter() -> None:
    for meter in ("4/4", "3/4", "6/8", "5/4"):
        bar = notated_bar(make_line("bass", "C3:1"), meter=meter)
        assert in_letters(bar.voices[1]) == "Rbar"
        assert bar.voices[1][0].duration == bar.bar.span.duration


def test_a_silent_pickup_has_plain_rests() -> None:
    score = notate(make_arrangement(make_line("bass", "C3:1"), make_bars(1, pickup=1)))
    assert in_letters(score.bars[0].voices[1]) == "R1"


def test_rests_of_the_accompaniment_are_never_shown() -> None:
    bar = notated_bar(make_line("melody", "E4:1"), make_line("bass", "r:2 C3:1"))
    assert in_letters(bar.voices[2]) == "_2 C3:1 _1"


# --- ties ------------------------------------------------------------------------------


def test_a_note_over_the_barline_is_tied_and_knows_both_ends() -> None:
    score = notate(make_arrangement(make_line("melody", "E4:3 G4:2 r:3")))
    first, second = score.bars[0].voices[1][-1], score.bars[1].voices[1][0]
    assert isinstance(first, Sounding)
    assert isinstance(second, Sounding)
    assert (first.is_tied_from_before, first.is_tied_to_next) == (False, True)
    assert (second.is_tied_from_before, second.is_tied_to_next) == (True, False)
    assert first.notes == second.notes


# --- beams -----------------------------------------------------------------------------


def beamed(text: str, meter: str) -> str:
    """The melody's beams as group sizes; a note alone is 1 and a rest ends a group."""
    bar = notated_bar(make_line("melody", text), meter=meter)
    events = [event for event in bar.voices[1] if isinstance(event, Sounding)]
    grouped = {event_id: group for group in bar.beams for event_id in group}
    sizes, last = [], None
    for event in events:
        group = grouped.get(event.id)
        if group is None:
            sizes.append(1)
        elif group is not last:
            sizes.append(len(group))
        last = group
    return " ".join(str(size) for size in sizes)


def test_beams_show_the_pulse() -> None:
    eighths = "E4:1/2 " * 12
    assert beamed(" ".join(eighths.split()[:8]), "4/4") == "4 4"
    assert beamed(" ".join(eighths.split()[:6]), "3/4") == "2 2 2"
    assert beamed(" ".join(eighths.split()[:4]), "2/4") == "4"
    assert beamed(" ".join(eighths.split()[:8]), "C|") == "4 4"
    assert beamed(" ".join(eighths.split()[:6]), "6/8") == "3 3"
    assert beamed(" ".join(eighths.split()[:3]), "3/8") == "3"
    assert beamed(eighths, "12/8") == "3 3 3 3"
    assert beamed(" ".join(eighths.split()[:5]), "5/8") == "3 2"
    assert beamed(" ".join(eighths.split()[:7]), "7/8") == "2 2 3"


@pytest.mark.parametrize(
    ("meter", "groups"),
    [("2+3/8", "2 3"), ("3+2/8", "3 2"), ("3+2+2/8", "3 2 2"), ("2+3+2/8", "2 3 2"), ("3+3+2/8", "3 3 2")],
)
def test_beams_follow_the_groups_that_the_source_gives(meter: str, groups: str) -> None:
    assert beamed("E4:1/2 " * sum(map(int, groups.split())), meter) == groups


def test_sixteenths_and_tuplets_are_beamed_by_beats() -> None:
    assert beamed("E4:1/4 E4:1/4 E4:1/4 E4:1/4 E4:1/2 E4:1/2 E4:2", "4/4") == "4 2 1"
    assert beamed("E4:1/3 E4:1/3 E4:1/3 E4:1/2 E4:1/2 E4:2", "4/4") == "3 2 1"
    assert beamed("E4:3/4 E4:1/4 E4:1/2 E4:1/2 E4:2", "4/4") == "2 2 1"


def test_a_beam_ends_at_a_rest_and_at_a_longer_note() -> None:
    assert beamed("E4:1/2 E4:1/2 r:1/2 E4:1/2 E4:2", "4/4") == "2 1 1"
    assert beamed("E4:1/2 E4:1 E4:1/2 E4:2", "4/4") == "1 1 1 1"


# --- laws ------------------------------------------------------------------------------


def test_ids_are_unique_and_the_same_every_time() -> None:
    ids = list(all_ids(notate(small_arrangement())))
    assert len(set(ids)) == len(ids)
    assert ids == list(all_ids(notate(small_arrangement())))
    assert ids[0] == "m0v1e0"


def all_ids(score: NotatedScore) -> Iterable[str]:
    for bar in score.bars:
        for line in bar.voices.values():
            for event in line:
                yield event.id
                if isinstance(event, Sounding):
                    yield from event.note_ids


PITCHES = {Role.MELODY: ("E4", "G4", "C5"), Role.BASS: ("E2", "A2", "C3"), Role.INNER: ("D3", "G3", "B3")}
onsets = st.sampled_from([Fraction(n, d) for d in (1, 2, 3, 4) for n in range(12 * d)])
durations = st.sampled_from([Fraction(n, d) for d in (1, 2, 3, 4) for n in range(1, 9)])


@st.composite
def arrangements(draw: st.DrawFn) -> Arrangement:
    """Anything at all in any role, overlaps included, over four bars or more in some meter."""
    meter = draw(st.sampled_from(["4/4", "3/4", "6/8", "C|", "5/4"]))
    bars = make_bars(
        24, meter, pickup=draw(st.sampled_from([Fraction(0), Fraction(1), Fraction(1, 2), Fraction(1, 3)]))
    )
    notes = draw(
        st.lists(
            st.builds(
                lambda role, onset, duration, pitch: make_note(role, onset, duration, PITCHES[role][pitch]),
                st.sampled_from(list(Role)),
                onsets,
                durations,
                st.integers(0, 2),
            ),
            max_size=20,
        )
    )
    return make_arrangement(notes, bars)


@settings(deadline=None)
@given(arrangements())
def test_every_voice_fills_its_bar_without_gap(arrangement: Arrangement) -> None:
    for bar in notate(arrangement).bars:
        for events in bar.voices.values():
            assert_fills(bar.bar, events)


def assert_fills(bar: Bar, events: Sequence[Event]) -> None:
    now = bar.onset
    for event in events:
        assert event.onset == now
        now += event.duration
    assert now == bar.offset


@settings(deadline=None)
@given(arrangements())
def test_merging_ties_gives_back_exactly_the_notes(arrangement: Arrangement) -> None:
    """Nothing lost, nothing doubled, every length as it was."""
    read: list[tuple[Note, Fraction, Fraction]] = []
    sounding: dict[int, tuple[Note, Fraction, Fraction]] = {}
    voices: dict[int, str] = {}
    for event in all_soundings(notate(arrangement)):
        for note in event.notes:
            assert voices.setdefault(id(note), voice_in(event.id)) == voice_in(event.id)
            start = sounding.pop(id(note), (note, event.onset, event.onset))
            assert event.is_tied_from_before == (start[1] != start[2])
            assert start[2] == event.onset
            so_far = (note, start[1], event.onset + event.duration)
            if event.is_tied_to_next:
                sounding[id(note)] = so_far
            else:
                read.append(so_far)
    assert not sounding
    assert sorted((id(note), onset, end) for note, onset, end in read) == sorted(
        (id(note), note.onset, note.offset) for note in arrangement.notes
    )


def voice_in(event_id: str) -> str:
    """``m0v1e2`` -> 1."""
    return event_id.split("v")[1].split("e", maxsplit=1)[0]


def all_soundings(score: NotatedScore) -> list[Sounding]:
    events = (event for bar in score.bars for line in bar.voices.values() for event in line)
    return sorted((e for e in events if isinstance(e, Sounding)), key=lambda event: event.onset)


@settings(deadline=None)
@given(arrangements())
def test_beams_join_neighbours_of_one_voice_that_have_flags(arrangement: Arrangement) -> None:
    for bar in notate(arrangement).bars:
        order = {event.id: (v, i, event) for v, line in bar.voices.items() for i, event in enumerate(line)}
        for group in bar.beams:
            assert len(group) > 1
            places = [order[event_id] for event_id in group]
            assert {voice for voice, _, _ in places} == {places[0][0]}
            assert [i for _, i, _ in places] == list(range(places[0][1], places[0][1] + len(group)))
            for _, _, event in places:
                assert isinstance(event, Sounding)
                assert event.value.base <= Fraction(1, 2)
