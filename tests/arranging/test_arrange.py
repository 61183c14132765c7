"""The whole way from song to arrangement: what must hold for every song there is."""

from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from apoyando.arranging import arrange_in_key, arrange_song, compare_keys
from apoyando.model.arrangement import Arrangement, RelaxationStep, Role
from apoyando.model.errors import UsageError
from apoyando.model.hand import Finger
from apoyando.model.harmony import chord_tones
from apoyando.model.instrument import DROP_D_TUNING
from apoyando.model.plan import Plan
from apoyando.model.song import Song
from apoyando.proofing import prove_arrangement
from apoyando.reading.level_table import load_default_levels
from builders import make_song
from strategies import songs

LEVELS = load_default_levels()
INTERMEDIATE = LEVELS["intermediate"]


def arrange(song: Song, **plan: object) -> Arrangement:
    return arrange_in_key(song, Plan(**plan), INTERMEDIATE, song.key)  # type: ignore[arg-type]


LONG_NOTES = make_song("E4:4 G4:4", "C:4 C:4")


def test_something_moves_on_every_eighth_under_a_long_note_until_the_last_bar_closes() -> None:
    onsets = {note.onset for note in arrange(LONG_NOTES).notes}
    assert onsets == {Fraction(step, 2) for step in range(8)} | {Fraction(4)}


def test_the_bass_takes_the_root_at_the_start_of_the_bar() -> None:
    arrangement = arrange(LONG_NOTES)
    first = {note.onset: note.pitch.midi % 12 for note in arrangement.voice(Role.BASS)}
    assert first[Fraction(0)] == 0
    assert first[Fraction(4)] == 0


def test_a_melody_in_eighths_needs_no_inner_notes_for_motion() -> None:
    song = make_song(" ".join(["E4:1/2", "G4:1/2"] * 8), "C:4 C:4")
    inner = arrange(song).voice(Role.INNER)
    assert all(note.onset in {0, 4} for note in inner)


def test_a_slash_chord_has_its_bass() -> None:
    song = make_song("E4:4 E4:4", "C/G:4 C/E:4")
    basses = {note.onset: note.pitch.midi % 12 for note in arrange(song).voice(Role.BASS)}
    assert basses[Fraction(0)] == 7
    assert basses[Fraction(4)] == 4


def test_a_tone_that_its_chord_calls_by_three_accidentals_is_written_plainly() -> None:
    """B triple flat and F triple sharp are A flat and G sharp; nobody reads the former (common practice, no source)."""
    arrangement = arrange(make_song("F4:4 F4:4", "Ebb.diminished:4 D##.augmented:4"))
    struck = {str(note.pitch.name) for note in arrangement.notes if note.role is not Role.MELODY}
    assert {"Ab", "G#"} <= struck
    assert not any(sign * 3 in name for name in struck for sign in "b#")


def test_the_third_of_each_bar_s_harmony_sounds() -> None:
    song = make_song("G4:4 G4:4", "C:4 Em:4")
    arrangement = arrange(song)
    for onset, third in ((0, 4), (4, 7)):
        tones = {n.pitch.midi % 12 for n in arrangement.notes if onset <= n.onset < onset + 4}
        assert third in tones


def test_a_pickup_is_played_alone() -> None:
    song = make_song("G3:1 C4:4 E4:4", "G:1 C:4 C:4", pickup="1")
    arrangement = arrange(song)
    assert [note.role for note in arrangement.notes if note.onset < 1] == [Role.MELODY]


def test_no_chord_means_melody_alone() -> None:
    song = make_song("E4:4 G4:4", "C:4 N.C.:4")
    arrangement = arrange(song)
    assert {note.role for note in arrangement.notes if note.onset >= 4} == {Role.MELODY}


def test_no_eighths_run_against_triplets() -> None:
    song = make_song("E4:1/3 F4:1/3 G4:1/3 E4:3 G4:4", "C:4 C:4")
    onsets = {note.onset for note in arrange(song).notes}
    assert Fraction(1, 2) not in onsets
    assert Fraction(3, 2) in onsets


def test_a_phrase_off_the_fingerboard_is_moved_by_octaves_and_reported() -> None:
    song = make_song("E4:4 C7:4", "C:4 C:4")
    arrangement = arrange(song, melody_octave=0)
    (change,) = arrangement.melody_changes
    assert change.bar == "2"
    assert change.old[-1] > change.new[-1]
    assert any(r.step is RelaxationStep.MELODY_OCTAVE for r in arrangement.relaxations)


def test_the_player_s_key_and_octave_are_kept() -> None:
    arrangement = arrange_song(LONG_NOTES, Plan(key="A", melody_octave=0), INTERMEDIATE)
    assert str(arrangement.key) == "A major"
    assert [n.pitch.midi for n in arrangement.voice(Role.MELODY)] == [61, 64]


def test_drop_d_gives_the_low_d() -> None:
    song = make_song("F#4:4 A4:4", "D:4 D:4")
    arrangement = arrange(song, tuning="drop-d")
    assert arrangement.tuning == DROP_D_TUNING
    assert min(note.pitch.midi for note in arrangement.notes) == 38


@pytest.mark.parametrize(
    ("plan", "message"),
    [
        (Plan(key="H"), "letter from A to G"),
        (Plan(key="D#"), "has no key signature"),
        (Plan(texture="tremolo"), "there are: running-eighths, arpeggio"),
        (Plan(tuning="open-g"), "there are: standard, drop-d"),
        (Plan(prices={"bass_misssing": 2.0}), "no price named bass_misssing"),
        (Plan(prices={"bass_missing": -1.0}), "factor from 0 to 100"),
    ],
)
def test_a_plan_that_cannot_be_meant_is_refused(plan: Plan, message: str) -> None:
    with pytest.raises(UsageError, match=message):
        arrange_song(LONG_NOTES, plan, INTERMEDIATE)


def no_look(_: Arrangement) -> None:
    """Nobody looks at the arrangement but the search."""


def test_all_twelve_keys_are_compared_and_the_cheapest_is_taken() -> None:
    comparisons = compare_keys(LONG_NOTES, Plan(), INTERMEDIATE, look=no_look)
    assert len({comparison.key.tonic.pitch_class for comparison in comparisons}) == 12
    assert comparisons == tuple(sorted(comparisons, key=lambda comparison: comparison.price))
    best = comparisons[0]
    taken = arrange_song(LONG_NOTES, Plan(), INTERMEDIATE)
    assert taken.key.tonic == best.key.tonic
    assert taken.search.lower_bound == best.arrangement.search.price


def test_a_price_turned_up_is_paid_less_often() -> None:
    """With barres at a hundred times their price none is laid where another way exists."""
    song = make_song("C5:2 A4:2 F4:4", "F:4 F:4")
    ban = {"half_barre_laid": 100.0, "full_barre_laid": 100.0}
    assert len(arrange(song, prices=ban).barres) <= len(arrange(song).barres)
    assert not arrange(song, prices=ban).barres


# What holds for every song.


@settings(max_examples=40, deadline=None)
@given(songs(), st.sampled_from(("early", "intermediate", "advanced")), st.sampled_from((0, 3)))
def test_every_song_gives_an_arrangement_that_is_certified(song: Song, level: str, capo: int) -> None:
    arrangement = arrange_in_key(song, Plan(level=level, capo=capo), LEVELS[level], song.key)
    certificate = prove_arrangement(arrangement, song, LEVELS[level], 1.0)
    assert [witness.sentence for witness in certificate.witnesses] == []
    search = arrangement.search
    assert search.lower_bound <= search.price
    assert search.is_optimal == (search.lower_bound == search.price)


@settings(max_examples=40, deadline=None)
@given(songs())
def test_the_melody_is_whole_and_every_other_note_is_a_chord_tone_below_it(song: Song) -> None:
    """By naive code of the test's own."""
    arrangement = arrange_in_key(song, Plan(), INTERMEDIATE, song.key)
    melody = arrangement.voice(Role.MELODY)
    shift = arrangement.transposition.semitones
    changed = {change.onset for change in arrangement.melody_changes}
    assert [(n.onset, n.offset) for n in melody] == [(n.onset, n.offset) for n in song.melody]
    for note, source in zip(melody, song.melody, strict=True):
        moved = note.pitch.midi - source.pitch.midi - shift
        assert moved == 0 or (note.onset in changed and moved % 12 == 0)
    for note in arrangement.voice(Role.BASS, Role.INNER):
        (chord,) = [h.chord for h in arrangement.harmony if h.onset <= note.onset < h.offset]
        assert chord is not None
        assert note.pitch.name in {tone.name for tone in chord_tones(chord)}
        for above in melody:
            if above.onset < note.offset and note.onset < above.offset:
                assert note.pitch.midi < above.pitch.midi


@settings(max_examples=30, deadline=None)
@given(songs())
def test_string_and_finger_stay_for_every_written_length(song: Song) -> None:
    """By naive code of the test's own: look at every pair of notes that sound at once."""
    arrangement = arrange_in_key(song, Plan(), INTERMEDIATE, song.key)
    for index, one in enumerate(arrangement.notes):
        assert arrangement.tuning.note_at(one.place) == one.pitch.midi
        assert (one.finger is Finger.OPEN) == (one.place.fret == 0)
        for other in arrangement.notes[index + 1 :]:
            if one.onset < other.offset and other.onset < one.offset:
                assert one.place.string != other.place.string
                if one.finger is other.finger is not Finger.OPEN:
                    assert one.place.fret == other.place.fret
                    assert one.finger is Finger.INDEX


@settings(max_examples=20, deadline=None)
@given(songs())
def test_the_same_song_gives_the_same_arrangement(song: Song) -> None:
    again = replace(song, title=song.title)
    assert arrange_in_key(song, Plan(), INTERMEDIATE, song.key) == arrange_in_key(
        again, Plan(), INTERMEDIATE, song.key
    )


@settings(max_examples=25, deadline=None)
@given(songs(lowest=30, highest=100, most_bars=2))
def test_even_a_melody_of_any_range_finishes(song: Song) -> None:
    arrangement = arrange_in_key(song, Plan(), INTERMEDIATE, song.key)
    assert len(arrangement.voice(Role.MELODY)) == len(song.melody)


@settings(max_examples=25, deadline=None)
@given(songs())
def test_every_bass_that_is_let_go_is_reported(song: Song) -> None:
    """A bass ends where the next begins, where the bar or the harmony ends, or in the report."""
    arrangement = arrange_in_key(song, Plan(), INTERMEDIATE, song.key)
    basses = arrangement.voice(Role.BASS)
    ends = {bar.offset for bar in arrangement.bars} | {span.offset for span in arrangement.harmony}
    ends |= {bass.onset for bass in basses}
    reported = {hold.onset for hold in arrangement.given_up_holds}
    missing = {r.onset for r in arrangement.relaxations if r.step is RelaxationStep.BASS_DROPPED}
    for bass in basses:
        assert bass.offset in ends | missing or bass.onset in reported
