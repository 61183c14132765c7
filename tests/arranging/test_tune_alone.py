"""The tune alone, fingered so that it passes a limit of its level only where it must."""

from dataclasses import replace
from itertools import product

import pytest
from hypothesis import given, settings

from apoyando.arranging import arrange_in_key, finger_tune_alone
from apoyando.model.arrangement import Arrangement, Role
from apoyando.model.hand import FINGERS, Finger
from apoyando.model.instrument import STANDARD_TUNING
from apoyando.model.plan import Plan
from apoyando.model.song import Song
from apoyando.proofing import (
    LevelRule,
    find_over_level,
    prove_barres,
    prove_holds,
    prove_pitches,
    prove_reach,
)
from apoyando.reading import load_default_levels
from builders import make_arrangement, make_line
from strategies import songs

LEVEL = load_default_levels()["intermediate"]
OF_THE_HAND = {LevelRule.SHIFT, LevelRule.SHIFT_TIME, LevelRule.HIGHEST_FRET}


def limits_passed(arrangement: Arrangement) -> set[LevelRule]:
    return {finding.rule for finding in find_over_level(arrangement, LEVEL)} & OF_THE_HAND


def finger_in_every_way(tune: Arrangement) -> list[Arrangement]:
    """Each note at each of its places, by each finger."""
    ways = [
        [
            replace(note, place=place, finger=finger)
            for place in STANDARD_TUNING.places(note.pitch.midi)
            for finger in ((Finger.OPEN,) if place.is_open else FINGERS)
        ]
        for note in tune.notes
    ]
    return [replace(tune, notes=notes) for notes in product(*ways)]


@pytest.mark.parametrize(("line", "must_pass"), [
    ("G4:1/4 A4:1/4 B4:1", False),  # one position has them all
    ("F#4:1/4 D#5:1/4", False),  # so it does here, across two strings
    ("F4:1/4 E5:1/4", True),  # too far for a sixteenth, wherever it begins
    ("F4:1/2 E5:1/4", False),  # and not for an eighth
    ("E4:1/4 E5:1/4", False),  # an open string lets the hand go
    ("C5:1/4 F4:1/4 E5:1", True),
    ("E5:1 F5:1", True),  # above the highest fret, and no peak
])  # fmt: skip
def test_a_limit_is_passed_only_where_every_fingering_passes_one(line: str, must_pass: bool) -> None:
    tune = make_arrangement(make_line("melody", line))
    alone = finger_tune_alone(tune, LEVEL)

    assert all(limits_passed(way) for way in finger_in_every_way(tune)) is must_pass
    assert alone
    assert bool(limits_passed(alone)) is must_pass


@settings(max_examples=25, deadline=None)
@given(songs())
def test_the_tune_of_every_song_is_played_whole_and_by_a_hand(song: Song) -> None:
    piece = arrange_in_key(song, Plan(), LEVEL, song.key)
    alone = finger_tune_alone(piece, LEVEL)

    assert alone
    assert [(n.span, n.pitch) for n in alone.notes] == [(n.span, n.pitch) for n in piece.voice(Role.MELODY)]
    proofs = (prove_pitches(alone), prove_holds(alone), prove_reach(alone, LEVEL), prove_barres(alone))
    assert [witness for proof in proofs for witness in getattr(proof, "witnesses", ())] == []


def test_a_tune_that_no_hand_can_play_has_no_fingering() -> None:
    """Below the lowest string."""
    tune = make_arrangement(make_line("melody", "E2:1"))
    low = replace(tune, notes=(replace(tune.notes[0], pitch=replace(tune.notes[0].pitch, octave=1)),))
    assert finger_tune_alone(low, LEVEL) is None
