"""The proofing room: certificates for a finished arrangement.

It reads the model and shares no code with the rooms that make arrangements, so that a
fault of theirs cannot hide in it. Nothing leaves the program without its certificate.
"""

from apoyando.model.arrangement import Arrangement
from apoyando.model.level import Level
from apoyando.model.score import Score
from apoyando.model.song import Song
from apoyando.proofing.barres import prove_barres
from apoyando.proofing.bars import prove_bars, prove_score_bars
from apoyando.proofing.certificate import (
    SCORE_RULES,
    SONG_RULES,
    Breach,
    Certificate,
    Proof,
    Refutation,
    Rule,
    WidestSpan,
    Witness,
)
from apoyando.proofing.form import lay_out_song, prove_form
from apoyando.proofing.harmony import prove_harmony
from apoyando.proofing.holds import prove_holds
from apoyando.proofing.level_findings import Finding, LevelRule, find_over_level
from apoyando.proofing.melody import prove_melody
from apoyando.proofing.pitches import prove_pitches
from apoyando.proofing.reach import prove_reach
from apoyando.proofing.report import prove_report
from apoyando.proofing.ring import find_rings
from apoyando.proofing.score import merge_unisons, prove_score

__all__ = [
    "SCORE_RULES",
    "SONG_RULES",
    "Breach",
    "Certificate",
    "Finding",
    "LevelRule",
    "Proof",
    "Refutation",
    "Rule",
    "WidestSpan",
    "Witness",
    "find_over_level",
    "find_rings",
    "merge_unisons",
    "prove_arrangement",
    "prove_barres",
    "prove_bars",
    "prove_fingering",
    "prove_form",
    "prove_harmony",
    "prove_holds",
    "prove_melody",
    "prove_pitches",
    "prove_reach",
    "prove_report",
    "prove_score",
]


def prove_arrangement(
    arrangement: Arrangement, song: Song, level: Level, hand_size: float = 1.0
) -> Certificate:
    """Prove or refute every rule for an arrangement of a song.

    ``hand_size`` scales the level's span limits (1.0 = the table). Melody, bars and harmony are
    those of the song laid out in the form that the arrangement lists, and the form is proven
    from the song. Never raises for a wrong arrangement: what is wrong with it is the answer.
    """
    laid_out = lay_out_song(arrangement, song)
    return Certificate(
        (
            prove_pitches(arrangement),
            prove_holds(arrangement),
            prove_reach(arrangement, level, hand_size),
            prove_barres(arrangement),
            prove_melody(arrangement, laid_out),
            prove_bars(arrangement, laid_out),
            prove_form(arrangement, song),
            prove_harmony(arrangement, laid_out),
            prove_report(arrangement, laid_out),
        )
    )


def prove_fingering(
    arrangement: Arrangement, score: Score, level: Level, hand_size: float = 1.0
) -> Certificate:
    """Prove or refute every rule for a score that was fingered.

    ``level`` is what the hand was held to. A unison written in two voices is held as one
    sound. Never raises for a wrong fingering: what is wrong with it is the answer.
    """
    sounds = merge_unisons(arrangement)
    return Certificate(
        (
            prove_pitches(arrangement),
            prove_holds(sounds),
            prove_reach(sounds, level, hand_size),
            prove_barres(sounds),
            prove_score_bars(arrangement, score),
            prove_report(arrangement, score),
            prove_score(arrangement, score),
        )
    )
