"""Voice leading in the bass and the inner voice: each rule in examples, and what turning it off changes."""

import pytest

from apoyando.arranging import arrange_in_key
from apoyando.arranging.voice_leading import (
    Progress,
    add_tables,
    count_too_low,
    hand_over_prices,
    line_prices,
    resolution_prices,
)
from apoyando.arranging.voices import bass_inner_prices
from apoyando.fingering import Candidate, Interplay, Problem, Slice, VoiceSlice, find_best_way
from apoyando.model.arrangement import Arrangement, Note, RelaxationStep, Role
from apoyando.model.harmony import Chord
from apoyando.model.instrument import STANDARD_TUNING
from apoyando.model.plan import Plan
from apoyando.model.prices import Prices
from apoyando.model.song import Song
from apoyando.model.time import Quarters
from apoyando.reading import load_default_levels
from builders import make_harmony, make_pitch, make_song

PRICES = Prices()
INTERMEDIATE = load_default_levels()["intermediate"]
STEP, LEADS, PEDAL = PRICES.bass_line_step, PRICES.bass_leads, PRICES.bass_pedal
SEVENTH, LEADING_NOTE = PRICES.seventh_unresolved, PRICES.leading_note_unresolved


def candidate(name: str) -> tuple[Candidate, ...]:
    return (Candidate(make_pitch(name).midi),)


def note(name: str) -> tuple[int, ...]:
    return (make_pitch(name).midi,)


def chord(symbol: str) -> Chord:
    (span,) = make_harmony(f"{symbol}:1")
    assert span.chord
    return span.chord


def progress(old: str, one: str, new: str, other: str) -> Progress:
    return Progress(chord(old), note(one), chord(new), note(other))


def resolution(old: str, one: str, new: str, other: str) -> int:
    table = resolution_prices(progress(old, one, new, other), PRICES)
    return table[0][0] if table else 0


def line(old: str, one: str, new: str, other: str) -> int:
    return line_prices(progress(old, one, new, other), PRICES)[0][0]


def arrange(song: Song, **factors: float) -> Arrangement:
    plan = Plan(melody_octave=0, prices=factors)
    return arrange_in_key(song, plan, INTERMEDIATE, song.key)


def basses(arrangement: Arrangement) -> list[str]:
    notes: tuple[Note, ...] = arrangement.voice(Role.BASS)
    return [str(note.pitch) for note in sorted(notes, key=lambda note: note.onset)]


# Sevenths and leading notes (common practice, as any harmony text has it; from memory).


@pytest.mark.parametrize(
    ("other", "expected"),
    [("E3", 0), ("E4", SEVENTH), ("F3", 0), ("G3", SEVENTH), ("C3", SEVENTH), ("F#3", SEVENTH)],
)
def test_a_seventh_falls_by_step_or_stays(other: str, expected: int) -> None:
    """The F of G7, into C or a chord that keeps it."""
    assert resolution("G.dominant", "F3", "C", other) == expected


@pytest.mark.parametrize(
    ("other", "expected"),
    [("C3", 0), ("B2", 0), ("C#3", LEADING_NOTE), ("G2", LEADING_NOTE), ("C4", LEADING_NOTE)],
)
def test_the_third_of_a_dominant_rises_by_a_semitone_or_stays(other: str, expected: int) -> None:
    assert resolution("G", "B2", "C", other) == expected


def test_a_major_third_leads_only_where_the_root_falls_by_a_fifth() -> None:
    assert resolution("G", "B2", "A.minor", "E2") == 0
    assert resolution("E.minor", "G2", "A.minor", "E2") == 0


def test_within_one_harmony_nothing_has_to_resolve() -> None:
    assert resolution("G.dominant", "F3", "G.dominant", "B2") == 0


def test_a_root_may_go_where_it_likes() -> None:
    assert resolution("G.dominant", "G2", "C", "E3") == 0


# Lines and pedals.


def test_a_step_to_or_from_a_third_in_the_bass_takes_off_its_price_and_a_leap_does_not() -> None:
    assert line("C", "C3", "G", "B2") == STEP < 0
    assert line("G", "B2", "A.minor", "A2") == STEP
    assert line("C", "C3", "G", "G2") == 0
    assert line("C", "E2", "G", "B2") == 0


def test_from_third_to_third_a_step_counts_for_both() -> None:
    assert line("D.minor", "F2", "C", "E2") == 2 * STEP


@pytest.mark.parametrize(
    ("old", "one", "new", "other"),
    [
        ("G", "B2", "C", "C3"),  # a third rises to the next root
        ("G.dominant", "F2", "A.minor", "E2"),  # a seventh falls
        ("G.dominant", "D3", "C", "C3"),  # the four-three chord
        ("G.dominant", "D3", "C.minor/Eb", "Eb3"),
    ],
)
def test_a_step_into_the_next_chord_where_the_tone_has_to_go_takes_off_most(
    old: str, one: str, new: str, other: str
) -> None:
    assert line(old, one, new, other) == LEADS < STEP


def test_a_third_to_which_a_seventh_falls_is_worth_as_much_again() -> None:
    assert line("G.dominant", "F2", "C", "E2") == 2 * LEADS
    assert line("G.dominant/F", "F2", "C", "E2") == LEADS


def test_a_seventh_that_only_goes_back_to_its_root_leads_nowhere() -> None:
    assert line("G.dominant", "F2", "G.dominant", "G2") == 0
    assert line("G", "G2", "G.dominant", "F2") == 0


def test_a_fifth_in_the_bass_is_no_line_however_it_is_reached() -> None:
    assert line("D.minor", "D3", "A.minor", "E3") == 0
    assert line("A.minor", "E3", "D.minor", "D3") == 0


def test_what_stands_under_the_slash_is_asked_for_and_no_line_of_ours() -> None:
    assert line("C", "C3", "G/B", "B2") == 0


def test_an_inversion_between_two_steps_still_costs_more_than_its_root() -> None:
    """A line is a reason, not a gift: the chord symbol's own bass comes first where the hand has it."""
    assert PRICES.bass_third + 2 * LEADS > 2 * PRICES.bass_leap
    assert PRICES.bass_seventh + LEADS > 2 * PRICES.bass_leap


def test_a_bass_that_stays_under_a_new_chord_of_which_it_is_not_the_root_is_a_pedal() -> None:
    assert line("C", "C3", "F", "C3") == PEDAL < 0
    assert line("C", "C3", "C", "C3") == 0
    assert line("F", "C3", "C", "C3") == 0


# From the inner voice into the bass.


def hand_over(old: str, one: str, new: str, other: str) -> int:
    table = hand_over_prices(progress(old, one, new, other), PRICES)
    return table[0][0] if table else 0


def test_an_inner_note_that_goes_on_by_step_as_the_next_bass_is_worth_as_much_as_a_leap_costs() -> None:
    assert hand_over("G", "D3", "C", "C3") == PRICES.inner_into_bass == -PRICES.inner_leap_at_change
    assert hand_over("G", "B2", "C", "C3") == PRICES.inner_into_bass
    assert hand_over("G", "G3", "C", "C3") == 0
    assert hand_over("C/D", "D3", "C/D", "C3") == 0  # the harmony is the same


def test_a_player_who_wants_the_inner_voice_to_lead_into_the_bass_turns_it_up() -> None:
    song = make_song("G4:4 E4:4 G4:4", "G:4 C:4 G:4", count=3)

    def before_the_c(arrangement: Arrangement) -> str:
        inner = (note for note in arrangement.voice(Role.INNER) if note.offset == Quarters(4))
        return str(next(inner).pitch)

    assert before_the_c(arrange(song)) == "B3"
    assert before_the_c(arrange(song, inner_into_bass=6)) == "D3"


# Low intervals (the arrangers' table of low interval limits).


@pytest.mark.parametrize(
    ("low", "high", "semitones"),
    [
        ("B2", "D#3", 0),
        ("A2", "C#3", 2),
        ("G2", "B2", 4),
        ("C3", "Eb3", 0),
        ("B2", "D3", 1),
        ("A2", "D3", 0),
        ("G2", "C3", 2),
        ("E2", "B2", 0),
        ("F2", "D3", 0),
        ("E2", "D3", 1),
        ("E2", "E3", 0),
        ("E2", "G3", 0),
    ],
)
def test_an_interval_is_muddy_below_its_lowest_place(low: str, high: str, semitones: int) -> None:
    assert count_too_low(make_pitch(low).midi, make_pitch(high).midi) == semitones
    table = bass_inner_prices(candidate(low), candidate(high), PRICES)
    assert table == ((semitones * PRICES.muddy_interval_per_semitone,),)


def test_tables_of_one_shape_are_summed_and_an_empty_one_is_all_zeros() -> None:
    assert add_tables(((1, 2), (3, 4)), (), ((10, 20), (30, 40))) == ((11, 22), (33, 44))
    assert add_tables((), ()) == ()


# What turning a price off or up changes in a piece.


def test_a_bass_line_by_step_is_taken_for_its_own_sake_and_told() -> None:
    song = make_song("E4:3 G4:3 E4:3", "C:3 G:3 A.minor:3", meter="3/4", count=3)
    arrangement = arrange(song)
    assert basses(arrangement) == ["C3", "B2", "A2"]
    (told,) = arrangement.relaxations
    assert told.step is RelaxationStep.BASS_LINE
    assert told.reason == "B instead of G: the bass goes by step, C–B–A"
    assert basses(arrange(song, bass_line_step=0)) == ["C3", "G2", "A2"]


def test_a_player_who_likes_pedals_turns_them_up() -> None:
    song = make_song("E4:3 F4:3 E4:3", "A.minor:3 D.minor:3 A.minor:3", meter="3/4", count=3)
    assert basses(arrange(song)) == ["A2", "D3", "A2"]
    assert basses(arrange(song, bass_pedal=16)) == ["A2", "A2", "A2"]


def test_a_seventh_in_the_bass_goes_down_into_the_third() -> None:
    song = make_song("G4:3 G4:3 E4:3", "G.dominant/F:3 C:3 C:3", meter="3/4", count=3)
    asked = {"bass_slash_ignored": 3.0}
    assert basses(arrange(song, **asked))[:2] == ["F2", "E2"]
    assert basses(arrange(song, **asked, seventh_unresolved=0))[1] == "C3"


def test_the_last_chord_stands_on_its_root() -> None:
    song = make_song("A4:3 F4:3", "D.minor:3 Bb:3", meter="3/4", count=2)
    assert basses(arrange(song)) == ["D3", "Bb2"]
    assert basses(arrange(song, bass_inverted_at_end=0)) == ["D3", "D3"]


@pytest.mark.parametrize("symbol", ["G", "G.dominant"])
def test_the_last_dominant_stands_on_its_root(symbol: str) -> None:
    """Elsewhere its third leads into the next chord; a close wants the leap of the roots (common practice)."""
    song = make_song("C4:2 D4:2 C4:4", f"C:2 {symbol}:2 C:4", count=2)
    assert basses(arrange(song)) == ["C3", "G2", "C3"]
    assert basses(arrange(song, bass_inverted_at_cadence=0)) == ["C3", "B2", "C3"]


def test_only_the_last_one_does() -> None:
    song = make_song("C4:2 D4:2 C4:4 C4:2 D4:2 C4:4", "C:2 G:2 C:6 G:2 C:4", count=4)
    assert basses(arrange(song))[:3] == ["C3", "B2", "C3"]
    assert basses(arrange(song))[-2:] == ["G2", "C3"]


def test_a_dominant_keeps_the_bass_that_it_names() -> None:
    song = make_song("C4:2 D4:2 C4:4", "C:2 G/B:2 C:4", count=2)
    assert basses(arrange(song)) == ["C3", "B2", "C3"]


def test_an_inverted_last_dominant_is_better_than_one_without_a_bass() -> None:
    assert PRICES.bass_fifth + PRICES.bass_inverted_at_cadence < PRICES.bass_missing


def test_an_inverted_last_chord_is_better_than_one_without_a_bass() -> None:
    assert PRICES.bass_fifth + PRICES.bass_inverted_at_end < PRICES.bass_missing


# … and in two notes of the inner voice, where nothing else has a say.


def lead(old: str, one: str, new: str, others: dict[str, int], prices: Prices) -> str:
    """Where the inner voice goes from a note, if its next may be any of ``others``, each at a price."""
    candidates = tuple(Candidate(make_pitch(name).midi, price) for name, price in others.items())
    going = Progress(chord(old), note(one), chord(new), tuple(each.note for each in candidates))
    steps = resolution_prices(going, prices)
    before, after = (
        VoiceSlice(candidates=candidate(one), is_struck=True),
        VoiceSlice(candidates=candidates, is_struck=True, steps=steps),
    )
    return list(others)[choose(before, after, prices)]


def choose(before: VoiceSlice, after: VoiceSlice, prices: Prices) -> int:
    slices = tuple(Slice(quarters=1.0, seconds=0.6, voices=(voice,)) for voice in (before, after))
    solution = find_best_way(Problem(slices), tuning=STANDARD_TUNING, level=INTERMEDIATE, prices=prices)
    (chosen,) = solution.slices[-1].voices
    assert chosen
    return chosen.candidate


def test_a_leading_note_in_the_inner_voice_rises_although_another_tone_would_be_richer() -> None:
    """B3 under G into C: the third E4 is an open string and free, the root is in the bass already."""
    others = {"C4": PRICES.inner_root, "E4": 0}
    assert lead("G", "B3", "C", others, PRICES) == "C4"
    assert lead("G", "B3", "C", others, PRICES.turned({"leading_note_unresolved": 0})) == "E4"


def test_a_seventh_in_the_inner_voice_falls_although_an_open_string_lies_nearer() -> None:
    others = {"E3": 0, "G3": 0}
    assert lead("G.dominant", "F3", "C", others, PRICES) == "E3"
    assert lead("G.dominant", "F3", "C", others, PRICES.turned({"seventh_unresolved": 0})) == "G3"


def test_low_down_the_third_is_taken_an_octave_higher() -> None:
    """Over G2 the third B2 is muddy; B3 costs here as much as a leap."""
    bass, inner = candidate("G2"), (Candidate(make_pitch("B2").midi), Candidate(make_pitch("B3").midi, 30))

    def third(prices: Prices) -> int:
        voices = (VoiceSlice(candidates=bass, is_struck=True), VoiceSlice(candidates=inner, is_struck=True))
        slice_ = Slice(
            quarters=1.0,
            seconds=0.6,
            voices=voices,
            interplay=(Interplay(0, 1, bass_inner_prices(bass, inner, prices)),),
        )
        way = find_best_way(Problem((slice_,)), tuning=STANDARD_TUNING, level=INTERMEDIATE, prices=prices)
        chosen = way.slices[0].voices[1]
        assert chosen
        return inner[chosen.candidate].note

    assert third(PRICES) == make_pitch("B3").midi
    assert third(PRICES.turned({"muddy_interval_per_semitone": 0})) == make_pitch("B2").midi
