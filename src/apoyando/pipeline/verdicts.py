"""What is found in a finished arrangement. Nothing leaves the pipeline that has not been proven.

A refutation is a bug of the program, not a fault of the song, and is an ordinary exception.
"""

from dataclasses import replace

from apoyando.arranging import Fingered, finger_tune_alone
from apoyando.model.arrangement import Arrangement
from apoyando.model.level import Level
from apoyando.model.score import Score
from apoyando.model.song import Song
from apoyando.proofing import (
    Certificate,
    find_over_level,
    find_rings,
    merge_unisons,
    prove_arrangement,
    prove_fingering,
)
from apoyando.report import Verdict
from apoyando.teaching import find_voice_leading, measure_difficulty


class RefutedArrangementError(Exception):
    """The search made something that the proofing room refutes: a bug, shown by its witnesses."""

    def __init__(self, certificate: Certificate) -> None:
        self.certificate = certificate
        first, *others = certificate.witnesses
        more = f" (and {len(others)} more)" if others else ""
        super().__init__(f"{certificate.refutations[0].rule}: {first.sentence}{more}")


def judge(arrangement: Arrangement, song: Song, level: Level, hand_size: float) -> Verdict:
    """The proof that the piece can be played as written, and how hard it is.

    Raises RefutedArrangementError.
    """
    certificate = prove_arrangement(arrangement, song, level, hand_size)
    verdict = _judge(certificate, arrangement, level, hand_size)
    if not verdict.over_level:
        return verdict
    tune = finger_tune_alone(arrangement, level, hand_size)
    return replace(verdict, over_level=find_over_level(arrangement, level, tune))


def judge_fingering(fingered: Fingered, score: Score, level: Level, hand_size: float) -> Verdict:
    """The proof that the fingering is the score's and can be played, and how hard it is for ``level``.

    Raises RefutedArrangementError.
    """
    arrangement = fingered.arrangement
    certificate = prove_fingering(arrangement, score, fingered.level, hand_size)
    return _judge(certificate, merge_unisons(arrangement), level, hand_size)


def _judge(certificate: Certificate, arrangement: Arrangement, level: Level, hand_size: float) -> Verdict:
    if not certificate.is_proven:
        raise RefutedArrangementError(certificate)
    rings = find_rings(arrangement, level, hand_size)
    return Verdict(
        certificate=certificate,
        over_level=find_over_level(arrangement, level),
        difficulties=measure_difficulty(arrangement, level, hand_size),
        rings=rings,
        voice_leading=find_voice_leading(arrangement, rings),
    )
