"""Fingering a score that is there: what is written is kept, the rest is what players would write.

Fingerings marked "common practice, from memory" are those of the usual method books and
editions of the nineteenth century, typed afresh.
"""

from fractions import Fraction

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from apoyando.arranging import arrange_in_key, finger_score, key_named
from apoyando.arranging.scores.easing import widest_level
from apoyando.engraving import notate, write_musicxml
from apoyando.model.arrangement import Arrangement, Relaxation, RelaxationStep, Role
from apoyando.model.errors import UsageError
from apoyando.model.hand import FINGER_PAIRS, Pluck
from apoyando.model.locks import FreeFingerLock, Stretch
from apoyando.model.plan import Plan
from apoyando.model.score import Score
from apoyando.reading import load_default_levels, read_score, read_song
from builders import make_pitch
from guitar_scores import finger, make_score, prove, spell_places

LEVELS = load_default_levels()


def steps(arrangement: Arrangement) -> list[RelaxationStep]:
    return [relaxation.step for relaxation in arrangement.relaxations]


def quarters(*pitches: str) -> str:
    return " ".join(f"{pitch}:1" for pitch in pitches)


# Known fingerings.


def test_c_major_is_taken_in_first_position() -> None:
    """Common practice, from memory: 3 / 0 2 3 / 0 2 / 0 1 3 / 0 1 3, as in Carulli's method."""
    scale = ["C3", "D3", "E3", "F3", "G3", "A3", "B3", "C4", "D4", "E4", "F4", "G4"]

    assert spell_places(finger(make_score(quarters(*scale)))) == (
        "C3@5.3 D3@4.0 E3@4.2 F3@4.3 G3@3.0 A3@3.2 B3@2.0 C4@2.1 D4@2.3 E4@1.0 F4@1.1 G4@1.3"
    )


def test_the_natural_notes_of_the_bass_strings_are_taken_in_first_position() -> None:
    """Common practice, from memory: 0 1 3 / 0 2 3 / 0 2, the first page of every method."""
    scale = ["E2", "F2", "G2", "A2", "B2", "C3", "D3", "E3"]

    assert spell_places(finger(make_score(quarters(*scale)))) == (
        "E2@6.0 F2@6.1 G2@6.3 A2@5.0 B2@5.2 C3@5.3 D3@4.0 E3@4.2"
    )


@pytest.mark.parametrize("fret", [1, 3, 5])
def test_a_diminished_seventh_on_four_strings_takes_four_fingers_at_any_fret(fret: int) -> None:
    """The movable shape x x 1 2 1 2 with fingers 1 3 2 4 (common practice, no source)."""
    names = {
        1: ("D#3", "A3", "C4", "F#4"),
        3: ("F3", "B3", "D4", "G#4"),
        5: ("G3", "C#4", "E4", "A#4"),
    }[fret]
    chord = "+".join(names)
    shape = finger(make_score(f"{chord}:4"), level="intermediate")

    assert [(note.place.string, note.place.fret) for note in shape.notes] == [
        (4, fret),
        (3, fret + 1),
        (2, fret),
        (1, fret + 1),
    ]
    assert len({note.finger for note in shape.notes}) == 4


CARULLI = make_score(
    "r:1/2 G3:1/2 C4:1/2 E4:1/2 C4:1/2 G3:1/2 r:1/2 G3:1/2 B3:1/2 F4:1/2 B3:1/2 G3:1/2 "
    "r:1/2 G3:1/2 C4:1/2 E4:1/2 C4:1/2 G3:1/2",
    "C3:3 D3:3 C3:3",
    meter="3/4",
)
"""Broken chords of C and G7 over held basses, in the manner of Carulli's first preludes."""


def test_broken_chords_of_c_and_g7_are_fingered_as_every_beginner_learns_them() -> None:
    """Common practice, from memory: C with 3 and 1; the G7 on D with open strings and 1 on F."""
    places = spell_places(finger(CARULLI)).split()

    assert places[:4] == ["C3@5.3", "G3@3.0", "C4@2.1", "E4@1.0"]
    assert places[6:10] == ["D3@4.0", "G3@3.0", "B3@2.0", "F4@1.1"]


GIULIANI = make_score(
    "E4:1 E4:1 E4:2 F4:1 F4:1 F4:2 E4:4",
    "r:1/2 G3:1/2 C4:1/2 G3:1/2 C4:1 G3:1 r:1/2 G3:1/2 D4:1/2 G3:1/2 D4:1 G3:1 C4:4",
    "C3:4 B2:4 C3:4",
)
"""C and G7 in first inversion, the two chords of Giuliani's hundred and twenty right-hand studies (op. 1)."""


def test_the_two_chords_of_giuliani_s_right_hand_studies_are_fingered_as_he_prints_them() -> None:
    """Common practice, from memory: C with 3 and 1; G7 with 2 on B, 3 or 4 on D, 1 on F; no shift."""
    places = spell_places(finger(GIULIANI)).split()

    assert {"C3@5.3", "C4@2.1", "E4@1.0", "G3@3.0", "B2@5.2", "F4@1.1"} < set(places)
    assert {place for place in places if place.startswith("D4")} <= {"D4@2.3", "D4@2.4"}


def test_two_voices_in_thirds_keep_to_the_neighbouring_strings() -> None:
    """The first thirds of the scale of C lie on strings 2 and 1 (common practice, from memory)."""
    thirds = finger(make_score("E4:1 F4:1 G4:2", "C4:1 D4:1 E4:2"))

    assert {str(note.pitch): str(note.place) for note in thirds.notes[:4]} == {
        "C4": "string 2 fret 1",
        "E4": "string 1 open",
        "D4": "string 2 fret 3",
        "F4": "string 1 fret 1",
    }


# What is written is kept.


@pytest.mark.parametrize(
    ("written", "kept"),
    [
        ("E4@2:1", "E4@2"),  # the string alone
        ("E4@2.4:1", "E4@2.4"),
        ("C4@3.3:1", "C4@3.3"),
        ("C4@.4:1", ".4"),  # the finger alone
    ],
)
def test_a_written_string_and_finger_are_kept(written: str, kept: str) -> None:
    assert kept in spell_places(finger(make_score(written)))


def test_a_written_plucking_letter_is_kept_and_the_others_make_room() -> None:
    fingered = finger(make_score("E4@..m:1", "C4:1", "C3:1"))
    letters = {str(note.pitch): note.pluck for note in fingered.notes}

    assert letters == {"C3": Pluck.P, "C4": Pluck.I, "E4": Pluck.M}


def test_without_its_fingering_a_score_is_fingered_anew() -> None:
    score = make_score("E4@2.4:1 F4@2.4:1")

    assert "@2" in spell_places(finger(score))
    assert spell_places(finger(score.without_fingering())) == "E4@1.0 F4@1.1"


# Roles and unisons.


def test_the_highest_voice_is_the_melody_and_the_lowest_the_bass() -> None:
    fingered = finger(make_score("C3:4", "E4:2 F4:2", "G3:2 A3:2"))

    assert {str(note.pitch): note.role for note in fingered.notes} == {
        "C3": Role.BASS,
        "E4": Role.MELODY,
        "F4": Role.MELODY,
        "G3": Role.INNER,
        "A3": Role.INNER,
    }


def test_of_a_chord_the_top_note_is_the_melody() -> None:
    fingered = finger(make_score("C4+E4:2 G4:2", "C3:4"))

    assert [str(note.pitch) for note in fingered.voice(Role.INNER)] == ["C4"]


def test_a_unison_of_two_voices_is_one_place_with_two_lengths() -> None:
    fingered = finger(make_score("C4:1 E4:1", "C4:2"))
    unison = [note for note in fingered.notes if str(note.pitch) == "C4"]

    assert {note.duration for note in unison} == {1, 2}
    assert len({(note.place, note.finger, note.pluck) for note in unison}) == 1


def test_a_unison_that_two_voices_spell_differently_is_one_sound_too() -> None:
    """Found by random scores: B# and C together, each with a plucking letter of its own."""
    fingered = finger(make_score("B#2@..i:1", "C3@..p:2", "E4:2"))

    assert len({note.place for note in fingered.notes if note.place.string != 1}) == 1


def test_each_name_of_a_unison_that_is_left_out_is_named() -> None:
    fingered = finger(make_score("E4:1 " * 20, "C#2:1", "Db2:1"))

    assert [relaxation.reason.split()[0] for relaxation in fingered.relaxations] == ["C#2", "Db2"]


# What cannot be kept is named.


def test_a_string_that_does_not_have_the_note_is_let_go_and_named() -> None:
    fingered = finger(make_score("C3@2:1 E4:1"))

    assert steps(fingered) == [RelaxationStep.FINGERING_LET_GO]
    assert fingered.relaxations[0].reason.startswith("C3: string 2 cannot be kept; it is string 5 fret 3")


def test_an_open_string_with_a_finger_loses_the_finger() -> None:
    fingered = finger(make_score("E2@6.3:1"))

    assert fingered.relaxations == (
        Relaxation(
            RelaxationStep.FINGERING_LET_GO,
            "1",
            Fraction(0),
            "E2: finger 3 cannot be kept; it is string 6 open",
        ),
    )


def test_one_finger_written_for_two_places_at_once_is_let_go_at_one_of_them() -> None:
    fingered = finger(make_score("G4@1.3:2", "B2@5.3:2"))

    assert steps(fingered) == [RelaxationStep.FINGERING_LET_GO]
    assert len({note.finger for note in fingered.notes}) == 2


def test_a_melody_is_held_and_the_bass_that_needs_its_finger_is_given_up_first() -> None:
    """F4 and then F#4 by one finger on string 1 while the bass wants the same finger: the bass ends."""
    fingered = finger(make_score("r:1 G4@1.3:2 r:1", "C3@5.3:4"))
    bass = fingered.voice(Role.BASS)[0]

    assert steps(fingered) == []
    assert [(hold.pitch, hold.held_until) for hold in fingered.given_up_holds] == [
        (make_pitch("C3"), Fraction(1))
    ]
    assert fingered.given_up_holds[0].reason == "finger 3 is needed for the melody on string 1 fret 3"
    assert bass.offset == 1


def test_where_there_is_no_other_way_the_melody_is_shortened_and_named() -> None:
    """Both notes are written for string 1, and the first is to last while the second sounds."""
    fingered = finger(make_score("G4@1:4", "r:2 F4@1:2"))

    assert steps(fingered) == [RelaxationStep.MELODY_SHORTENED]
    assert [(str(hold.pitch), hold.held_until) for hold in fingered.given_up_holds] == [("G4", Fraction(2))]


def test_what_only_a_wider_hand_reaches_is_played_and_the_bar_is_named() -> None:
    """G2 on string 6 fret 3 and B4 on string 1 fret 7 stand 124 mm apart; 104 is intermediate's last."""
    fingered = finger(make_score("E4:4 B4:4", "C3:4 G2:4"))

    assert [(step.step, step.bar) for step in fingered.relaxations] == [(RelaxationStep.OVER_LEVEL, "2")]
    assert "124 mm" in fingered.relaxations[0].reason


def test_bars_beside_one_beyond_the_level_are_fingered_as_without_it() -> None:
    alone = finger(make_score("E4:4", "C3:4"))
    beside = finger(make_score("E4:4 B4:4", "C3:4 G2:4"))

    assert spell_places(beside).startswith(spell_places(alone))


def test_a_note_below_the_guitar_is_left_to_the_player_by_name() -> None:
    fingered = finger(make_score("E4:1 F4:1 G4:1 E4:1 " * 3, "D2:4"))

    assert [str(step) for step in steps(fingered)] == ["for the player to decide"]
    assert fingered.relaxations[0].reason == (
        "D2 is left out: the guitar does not have this note in this tuning"
    )
    assert "D2" not in spell_places(fingered)


def test_in_drop_d_the_low_d_is_the_open_sixth_string() -> None:
    assert "D2@6.0" in spell_places(finger(make_score("F4:4", "D2:4"), tuning="drop-d"))


def test_of_two_notes_no_hand_can_sound_together_the_melody_stays() -> None:
    """F#2 on string 6 fret 2 and D5 on string 1 fret 10: 200 mm apart."""
    fingered = finger(make_score("D5:4", "F#2:4"))

    assert steps(fingered) == [RelaxationStep.PLAYER_DECIDES]
    assert spell_places(fingered).startswith("D5@1")


def test_a_seventh_note_at_once_is_named_and_the_outer_ones_stay() -> None:
    fingered = finger(make_score("E4+B3+G3+E3+D3+B2+E2:4"), level="advanced")

    assert RelaxationStep.PLAYER_DECIDES in steps(fingered)
    assert len(fingered.notes) == 6


def test_music_an_octave_off_the_guitar_is_moved_and_the_move_is_told() -> None:
    fingered = finger(make_score(quarters("C6", "D6", "E6", "F6")))

    assert fingered.transposition.semitones == -12
    assert [(change.old, change.new) for change in fingered.melody_changes] == [("C6", "C5")]


def test_written_places_keep_a_piece_in_its_octave() -> None:
    fingered = finger(make_score(quarters("C6", "D6", "E6", "E4@1")))

    assert fingered.transposition.semitones == 0
    assert steps(fingered) == [RelaxationStep.PLAYER_DECIDES] * 3


def test_music_of_which_the_guitar_has_no_note_at_all_is_left_to_the_player() -> None:
    assert steps(finger(make_score("C1@6:1"))) == [RelaxationStep.PLAYER_DECIDES]


# The plan.


def test_a_capo_takes_frets_away_and_leaves_the_page_as_it_is() -> None:
    """B5 is fret 19 of string 1, the guitar's last (design note); under a capo there are 18."""
    score = make_score("B5:1 " + "E4:1 " * 11)

    assert steps(finger(score)) == []
    assert [relaxation.reason for relaxation in finger(score, capo=1).relaxations] == [
        "B5 is left out: the guitar does not have this note in this tuning"
    ]


def test_locks_are_refused_with_what_to_do() -> None:
    lock = FreeFingerLock(Stretch(), FINGER_PAIRS[0][0])

    with pytest.raises(UsageError, match="write the fingering into the score"):
        finger_score(make_score("C4:1"), Plan(locks=(lock,)), LEVELS)


def test_an_unknown_tuning_is_refused() -> None:
    with pytest.raises(UsageError, match="open-z"):
        finger_score(make_score("C4:1"), Plan(tuning="open-z"), LEVELS)


def test_the_widest_level_opens_as_far_as_any_level_and_is_as_comfortable_as_the_one_asked_for() -> None:
    wide = widest_level(LEVELS["early"], LEVELS.values())

    for pair in FINGER_PAIRS:
        assert wide.spans[pair].outermost_mm == max(
            level.spans[pair].outermost_mm for level in LEVELS.values()
        )
        assert wide.spans[pair].comfortable_mm == LEVELS["early"].spans[pair].comfortable_mm


# Round trips.

TUNE = b"""X:1
T:Round the Pond
M:4/4
L:1/4
K:G
"G"D G A B | "C"c2 "D7"A2 | "Em"B G "Am"E F | "D7"A2 "G"G2 |]
"""


@pytest.fixture(scope="module")
def arranged() -> Arrangement:
    song = read_song(TUNE, "pond.abc")
    return arrange_in_key(song, Plan(), LEVELS["intermediate"], key_named("G", song))


def read_back(arrangement: Arrangement) -> Score:
    return read_score(write_musicxml(notate(arrangement)), "pond.musicxml")


def test_our_own_page_read_again_keeps_every_string_fret_finger_and_letter(arranged: Arrangement) -> None:
    again = finger(read_back(arranged))

    assert spell_places(again) == spell_places(arranged)
    assert {(n.onset, n.pitch): (n.pluck, n.duration) for n in again.notes} == {
        (n.onset, n.pitch): (n.pluck, n.duration) for n in arranged.notes
    }
    assert again.barres == arranged.barres
    assert (again.relaxations, again.given_up_holds) == ((), ())


def test_its_notes_alone_cost_the_hand_no_more_than_the_arranger_s_own_fingering(
    arranged: Arrangement,
) -> None:
    score = read_back(arranged)

    assert finger(score.without_fingering()).search.price <= finger(score).search.price


def test_the_same_score_gives_the_same_fingering() -> None:
    assert finger(CARULLI) == finger(CARULLI)


# Never stuck, never silent.

PITCHES = st.sampled_from([f"{letter}{octave}" for octave in (1, 2, 3, 4, 5) for letter in "CDEFGAB"])
WORDS = st.tuples(
    st.lists(PITCHES, min_size=1, max_size=3, unique=True),
    st.sampled_from(["", "@1", "@3.2", "@6.4", "@.1"]),
    st.sampled_from(["1/2", "1", "2"]),
).map(lambda word: "+".join([word[0][0] + word[1], *word[0][1:]]) + ":" + word[2])
VOICES = st.lists(WORDS, min_size=1, max_size=4).map(" ".join)


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.lists(VOICES, min_size=1, max_size=3))
def test_any_score_is_fingered_and_what_is_missing_from_it_is_named(voices: list[str]) -> None:
    """``prove`` refutes any note that is missing, shortened or fingered otherwise without being listed."""
    score = make_score(*voices)
    prove(finger_score(score, Plan(), LEVELS), score)
