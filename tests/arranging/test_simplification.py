"""The melody made simpler: each treatment with its boundary, and what holds for every song.

The rules are those of docs/simpler.md: common practice, no published source.
"""

from dataclasses import replace
from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from apoyando.arranging import arrange_in_key
from apoyando.arranging.simplification import Simplification, SimplifiedMelody, list_changes, simplify_melody
from apoyando.model.arrangement import RelaxationStep, Role
from apoyando.model.level import Level
from apoyando.model.pitch import Interval
from apoyando.model.plan import INTRODUCTIONS, TREATMENTS, Melody, Plan, Treatment
from apoyando.model.prices import Prices
from apoyando.model.song import Lyric, MelodyNote, Song
from apoyando.proofing import prove_arrangement
from apoyando.reading.level_table import load_default_levels
from builders import make_song
from strategies import songs

LEVELS = load_default_levels()
EARLY, INTERMEDIATE, ADVANCED = LEVELS.values()
SIMPLER = Plan(melody=Melody.SIMPLER)
END = "G3:4 C5:4"
"""A phrase of long notes: the lowest and the highest note of the song are in it."""


def simplify(song: Song, plan: Plan = SIMPLER, level: Level = INTERMEDIATE) -> SimplifiedMelody:
    return simplify_melody(song, plan, level, Prices())


def line_of(melody: tuple[MelodyNote, ...]) -> str:
    return " ".join(f"{note.pitch}:{note.duration}" for note in melody)


def simpler(melody: str, harmony: str = "C:16", meter: str = "4/4", plan: Plan = SIMPLER) -> str:
    """The melody after the treatment, written as it went in."""
    return line_of(simplify(make_song(melody, harmony, meter, 4), plan).song.melody)


# Runs.


def test_a_run_is_thinned_to_the_notes_on_the_eighths() -> None:
    assert simpler("E4:1 C4:1/4 D4:1/4 E4:1/4 F4:1/4 G4:2") == "E4:1 C4:1/2 E4:1/2 G4:2"


def test_eighths_are_no_run() -> None:
    melody = "E4:1 C4:1/2 E4:1/2 G4:2"
    assert simpler(melody) == melody


def test_a_note_where_the_line_turns_is_kept_before_one_on_the_eighth() -> None:
    assert simpler("A4:1 C4:1/4 D4:1/4 E4:1/4 F4:1/4 D4:1 B3:2") == "A4:1 C4:1/2 F4:1/2 D4:1 B3:2"
    assert simpler("A4:1 C4:1/4 D4:1/4 E4:1/4 F4:1/4 G4:1 B3:2") == "A4:1 C4:1/2 E4:1/2 G4:1 B3:2"


def test_a_tone_of_the_chord_is_kept_before_one_that_is_none() -> None:
    run = "A4:1 C4:1/4 D4:1/4 E4:1/4 F4:1/4 G4:1 B3:2"
    assert simpler(run, "C:1 C:15").startswith("A4:1 C4:1/2 E4:1/2")
    assert simpler(run, "C:1 F:15").startswith("A4:1 C4:1/2 F4:1/2")


def test_a_longer_note_is_kept_before_a_shorter_one() -> None:
    assert simpler("A4:1 D4:1/4 F4:1/2 E4:1/4 C4:1 B3:1", "-:16") == "A4:1 D4:1/2 F4:1/2 C4:1 B3:1"


def test_a_repeated_note_is_left_out_first() -> None:
    assert simpler("C5:1 A4:1/4 A4:1/4 E4:1/4 E4:1/4 B3:2") == "C5:1 A4:1/2 E4:1/2 B3:2"


def test_a_note_with_a_syllable_is_kept_before_one_without_and_no_syllable_is_lost() -> None:
    song = make_song("A4:1 C4:1/4 D4:1/4 E4:1/4 F4:1/4 G4:1 B3:2", "-:16")
    words = {1: ("run", "begin"), 2: ("ning", "end"), 3: ("a", "single"), 4: ("long", "single")}
    lyrics = {index: (Lyric(1, *words[index]),) if index in words else () for index in range(7)}
    sung = replace(song, melody=tuple(replace(n, lyrics=lyrics[i]) for i, n in enumerate(song.melody)))
    found = [note.lyrics for note in simplify(sung).song.melody]
    assert found[1:3] == [(Lyric(1, "running", "single"),), (Lyric(1, "a long", "single"),)]
    one = replace(sung.melody[4], lyrics=())
    unsung = replace(
        sung, melody=(*sung.melody[:3], replace(sung.melody[3], lyrics=()), one, *sung.melody[5:])
    )
    kept = simplify(unsung).song.melody[1:3]
    assert line_of(kept) == "C4:1/2 D4:1/2"


def test_a_run_in_six_eight_is_thinned_within_its_pulse() -> None:
    run = "C4:1/4 D4:1/4 E4:1/4 F4:1/4 G4:1/4 F4:1/4 E4:3/2 B3:3"
    assert simpler(run, meter="6/8") == "C4:1/2 E4:1/2 G4:1/2 E4:3/2 B3:3"


# Triplets.


@pytest.mark.parametrize(
    ("triplet", "even"),
    [
        ("C4:1/3 D4:1/3 E4:1/3", "C4:1/2 E4:1/2"),
        ("E4:1/3 D4:1/3 C4:1/3", "E4:1/2 C4:1/2"),
        ("C4:2/3 E4:1/3", "C4:1/2 E4:1/2"),
        ("C4:1/3 E4:2/3", "C4:1/2 E4:1/2"),
    ],
)
def test_a_triplet_on_one_beat_becomes_even_eighths(triplet: str, even: str) -> None:
    assert simpler(f"G4:1 {triplet} F4:1 A4:1 {END}") == f"G4:1 {even} F4:1 A4:1 {END}"


def test_a_triplet_over_two_beats_keeps_its_notes_the_first_long() -> None:
    assert simpler(f"G4:2 C4:2/3 D4:2/3 E4:2/3 {END}") == f"G4:2 C4:1 D4:1/2 E4:1/2 {END}"


def test_three_eighths_of_a_pulse_in_six_eight_are_no_triplet() -> None:
    melody = "C4:1/2 D4:1/2 E4:1/2 F4:3/2 B3:3"
    assert simpler(melody, meter="6/8") == melody


# Dotted rhythms.


@pytest.mark.parametrize(
    ("dotted", "even"),
    [
        ("C4:3/4 D4:1/4", "C4:1/2 D4:1/2"),
        ("C4:1/4 D4:3/4", "C4:1/2 D4:1/2"),
        ("C4:3/2 D4:1/2", "C4:3/2 D4:1/2"),
    ],
    ids=["dotted eighth", "the other way round", "a dotted quarter is no syncopation and not short"],
)
def test_a_dotted_eighth_is_evened_and_a_dotted_quarter_stays(dotted: str, even: str) -> None:
    assert simpler(f"{dotted} G4:1 E4:1 {END}") == f"{even} G4:1 E4:1 {END}"


def test_a_dotted_figure_of_six_eight_becomes_three_eighths() -> None:
    melody = "A4:3/4 G4:1/4 E4:1/2 C4:3/2 B3:3"
    assert simpler(melody, meter="6/8") == "A4:1/2 G4:1/2 E4:1/2 C4:3/2 B3:3"


# Ornaments.


@pytest.mark.parametrize(
    ("ornamented", "plain"),
    [
        ("D4:1/8 E4:7/8", "E4:1"),
        ("E4:1/8 F4:1/8 E4:3/4", "E4:1"),
        ("E4:1/2 F4:1/8 E4:1/8 D4:1/8 E4:1/8", "E4:1"),
        ("E4:1/6 F4:1/6 D4:1/6 E4:1/2", "E4:1"),
        ("E4:1/8 F4:1/8 E4:1/8 F4:1/8 E4:1/8 F4:1/8 E4:1/8 D4:1/8", "E4:1"),
    ],
    ids=["a grace note", "a mordent", "a turn", "a turn in a triplet", "a trill"],
)
def test_a_written_out_ornament_leaves_its_main_note(ornamented: str, plain: str) -> None:
    assert simpler(f"G4:1 {ornamented} C4:1 D4:1 {END}") == f"G4:1 {plain} C4:1 D4:1 {END}"


# Syncopations.


@pytest.mark.parametrize(
    ("syncopated", "straight"),
    [
        ("C4:1/2 E4:1 D4:1/2 C4:2", "C4:1 E4:1/2 D4:1/2 C4:2"),
        ("C4:1/2 E4:3/2 C4:2", "C4:1 E4:1 C4:2"),
        ("C4:1/2 D4:1 E4:1 F4:1 G4:1/2", "C4:1 D4:1 E4:1 F4:1/2 G4:1/2"),
        ("C4:3/2 E4:5/2", "C4:2 E4:2"),
        ("C4:3 D4:1/2 E4:3/2 F4:1/2 D4:1/2 C4:2", "C4:3 D4:1 E4:1 F4:1/2 D4:1/2 C4:2"),
        ("C4:1 E4:2 D4:1", "C4:1 E4:2 D4:1"),
    ],
    ids=[
        "eighth quarter eighth",
        "eighth and dotted quarter",
        "a chain",
        "a half note tied over from an eighth",
        "tied over the barline",
        "a half note on the second beat is none",
    ],
)
def test_a_syncopation_begins_on_the_beat_instead(syncopated: str, straight: str) -> None:
    assert simpler(f"{syncopated} {END}") == f"{straight} {END}"


def test_a_long_note_comes_to_the_beat_that_leaves_it_long_or_stays_syncopated() -> None:
    assert simpler(f"C4:3/2 E4:2 D4:1/2 {END}") == f"C4:1 E4:5/2 D4:1/2 {END}"
    melody = f"C4:1/2 E4:2 D4:1/2 C4:1 {END}"
    assert simpler(melody) == melody


def test_cut_time_is_counted_in_quarters() -> None:
    assert simpler(f"C4:1/2 E4:1 D4:1/2 C4:2 {END}", meter="C|") == f"C4:1 E4:1/2 D4:1/2 C4:2 {END}"
    half = f"C4:1 E4:2 D4:1 {END}"
    assert simpler(half, meter="C|") == half


# What stays.


def test_the_first_note_of_a_phrase_begins_when_it_did() -> None:
    """After a rest the phrase enters off the beat, and lasts over it: that is the tune."""
    melody = "C4:2 r:1/2 E4:1 D4:1/2 C4:4"
    assert simpler(melody) == "C4:2 E4:1 D4:1/2 C4:4"


def test_the_highest_note_of_a_phrase_stays_though_it_is_quick_and_passing() -> None:
    assert simpler("E4:1 D4:1/4 A4:1/4 E4:1/4 F4:1/4 G4:1 B3:1") == "E4:1 D4:1/2 A4:1/2 G4:1 B3:1"


def test_a_note_with_a_fermata_stays() -> None:
    song = make_song("A4:1 C4:1/4 D4:1/4 E4:1/4 F4:1/4 G4:1 B3:1", "C:16")
    held = (*song.melody[:2], replace(song.melody[2], has_fermata=True), *song.melody[3:])
    assert "D4:1/2" in line_of(simplify(replace(song, melody=held)).song.melody)


def test_a_rest_of_an_eighth_stays_and_a_shorter_one_is_filled() -> None:
    assert simpler("E4:1 C4:1/2 D4:1/4 r:1/4 F4:1 B3:1 C4:4") == "E4:1 C4:1/2 D4:1/2 F4:1 B3:1 C4:4"
    rest = "E4:1 C4:3/4 D4:1/4 r:1/2 F4:1/2 B3:1 C4:4"
    onsets = [note.onset for note in simplify(make_song(rest, "C:16")).song.melody]
    assert onsets[:4] == [0, 1, Fraction(3, 2), Fraction(5, 2)]


def test_a_short_note_before_a_rest_stays_for_its_phrase_ends_there() -> None:
    melody = "E4:1 C4:1/2 D4:1/4 r:5/4 F4:1 B3:1 C4:4"
    assert simpler(melody) == melody.replace("r:5/4 ", "")


# When.


RUN = f"E4:1 C4:1/4 D4:1/4 E4:1/4 F4:1/4 G4:2 {END}"
SYNCOPATION = f"C4:1/2 E4:1 D4:1/2 C4:2 {END}"
QUICK = make_song(RUN, "C:16", count=4)
SYNCOPATED = make_song(SYNCOPATION, "C:16", count=4)


@pytest.mark.parametrize(
    ("song", "melody", "level", "is_changed"),
    [
        (QUICK, Melody.BY_LEVEL, EARLY, True),
        (QUICK, Melody.BY_LEVEL, INTERMEDIATE, False),
        (QUICK, Melody.BY_LEVEL, ADVANCED, False),
        (QUICK, Melody.AS_WRITTEN, EARLY, False),
        (QUICK, Melody.SIMPLER, ADVANCED, True),
        (SYNCOPATED, Melody.BY_LEVEL, EARLY, False),
        (SYNCOPATED, Melody.SIMPLER, EARLY, True),
    ],
)
def test_the_melody_is_made_simpler_on_request_or_where_the_level_cannot_do_with_it(
    song: Song, melody: Melody, level: Level, is_changed: bool
) -> None:
    assert bool(simplify(song, Plan(melody=melody), level).changes) is is_changed


def test_a_teacher_s_level_says_how_short_a_note_may_be() -> None:
    quarters = replace(EARLY, melody_shortest=Fraction(1))
    song = make_song(f"E4:1 C4:1/2 D4:1/2 G4:2 {END}", "C:16", count=4)
    assert line_of(simplify(song, Plan(), quarters).song.melody) == f"E4:1 C4:1 G4:2 {END}"


EXAMPLES = {
    Treatment.ORNAMENTS: f"G4:1 D4:1/8 E4:7/8 C4:1 D4:1 {END}",
    Treatment.TRIPLETS: f"G4:1 C4:1/3 D4:1/3 E4:1/3 F4:1 A4:1 {END}",
    Treatment.RUNS: RUN,
    Treatment.DOTTED: f"C4:3/4 D4:1/4 G4:1 E4:2 {END}",
    Treatment.SYNCOPATIONS: SYNCOPATION,
}


@pytest.mark.parametrize("treatment", TREATMENTS)
def test_each_treatment_can_be_had_alone_and_left_out(treatment: Treatment) -> None:
    alone = replace(SIMPLER, simplify=(treatment,))
    without = replace(SIMPLER, simplify=tuple(other for other in TREATMENTS if other is not treatment))
    melody = EXAMPLES[treatment]
    assert simpler(melody, plan=alone) == simpler(melody) != melody
    assert simpler(melody, plan=without) == melody


# What is told.


def test_a_change_is_told_with_its_bar_what_was_and_what_is_in_the_key_of_the_page() -> None:
    (change,) = list_changes(simplify(QUICK), Interval(1, 7))
    assert (change.bar, change.onset, change.until) == ("1", Fraction(1), Fraction(2))
    assert (change.old, change.new) == ("sixteenths G4 A4 B4 C5", "eighths G4 B4")
    assert change.reason == "the run is thinned to the notes that carry the line"


def test_an_arrangement_lists_what_was_simplified_and_gives_nothing_up_for_it() -> None:
    arrangement = arrange_in_key(QUICK, SIMPLER, INTERMEDIATE, QUICK.key)
    assert [change.new for change in arrangement.melody_changes if change.until is not None] == [
        "eighths C4 E4"
    ]
    assert RelaxationStep.MELODY_OCTAVE not in {each.step for each in arrangement.relaxations}
    assert [note.source for note in arrangement.voice(Role.MELODY)] == [0, 1, 3, 5, 6, 7]


# What holds for every song.


def apply(changes: tuple[Simplification, ...], melody: tuple[MelodyNote, ...]) -> tuple[MelodyNote, ...]:
    """The listed changes done to the old melody, by naive code of the test's own."""
    notes = list(melody)
    for change in changes:
        start = notes.index(change.old[0])
        assert tuple(notes[start : start + len(change.old)]) == change.old
        notes[start : start + len(change.old)] = change.new
    return tuple(notes)


def rests(melody: tuple[MelodyNote, ...]) -> list[tuple[Fraction, Fraction]]:
    """Where the melody rests, and its outer edges; rests shorter than an eighth left aside."""
    inner = [(one.offset, other.onset) for one, other in pairwise(melody)]
    long = [(start, end) for start, end in inner if end - start >= Fraction(1, 2)]
    return [*long, (melody[-1].offset, melody[0].onset)]


plans = st.builds(
    Plan,
    melody=st.sampled_from((Melody.BY_LEVEL, Melody.SIMPLER)),
    simplify=st.lists(st.sampled_from(TREATMENTS), unique=True).map(tuple) | st.just(TREATMENTS),
)
levels = st.sampled_from(tuple(LEVELS.values()))


@settings(max_examples=200, deadline=None)
@given(songs(), plans, levels)
def test_the_listed_changes_are_all_that_is_changed(song: Song, plan: Plan, level: Level) -> None:
    done = simplify(song, plan, level)
    assert apply(done.changes, song.melody) == done.song.melody
    assert replace(done.song, melody=song.melody) == song
    assert all(change.old != change.new for change in done.changes)


@settings(max_examples=200, deadline=None)
@given(songs(), plans, levels)
def test_the_notes_are_some_of_the_song_s_in_their_order_and_rest_where_they_did(
    song: Song, plan: Plan, level: Level
) -> None:
    done = simplify(song, plan, level)
    assert [song.melody[i].pitch for i in done.sources] == [note.pitch for note in done.song.melody]
    assert all(one < other for one, other in pairwise(done.sources))
    assert rests(done.song.melody) == rests(song.melody)
    assert all(one.offset <= other.onset for one, other in pairwise(done.song.melody))


@settings(max_examples=300, deadline=None)
@given(songs(), plans, levels)
def test_what_is_simple_already_is_not_made_simpler(song: Song, plan: Plan, level: Level) -> None:
    once = simplify(song, plan, level)
    assert simplify(once.song, plan, level).changes == ()


@settings(max_examples=40, deadline=None)
@given(
    songs(), st.sampled_from(tuple(LEVELS)), st.sampled_from(INTRODUCTIONS), st.sampled_from(("", "fermata"))
)
def test_every_arrangement_of_a_simpler_melody_is_certified_in_whatever_form(
    song: Song, level: str, introduction: str, ending: str
) -> None:
    plan = replace(SIMPLER, level=level, introduction=introduction, ending=ending)
    arrangement = arrange_in_key(song, plan, LEVELS[level], song.key)
    certificate = prove_arrangement(arrangement, song, LEVELS[level], 1.0)
    assert [witness.sentence for witness in certificate.witnesses] == []
