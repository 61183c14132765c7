"""From a guitar score to the same, fingered."""

from collections.abc import Mapping
from dataclasses import dataclass, replace

from apoyando.arranging import finger_score
from apoyando.model.instrument import STANDARD_TUNING
from apoyando.model.level import Level
from apoyando.model.plan import Plan
from apoyando.model.score import Score
from apoyando.model.sheet import Staves
from apoyando.pipeline.levels import find_level
from apoyando.pipeline.piece import Piece, write_outputs
from apoyando.pipeline.stopwatch import timed
from apoyando.pipeline.verdicts import judge_fingering
from apoyando.reading import read_score
from apoyando.report import describe_piece, encode_report


@dataclass(frozen=True, slots=True, kw_only=True)
class Wishes:
    """How a score is to be fingered.

    ``plan`` gives level, size of the hand and prices. ``tuning`` is "", ``capo`` and ``staves`` None
    where the score's own count. ``is_anew``: what the score says of the hands does not.
    """

    plan: Plan
    tuning: str = ""
    capo: int | None = None
    staves: Staves | None = None
    is_anew: bool = False


def finger_piece(
    data: bytes, file_name: str, wishes: Wishes, levels: Mapping[str, Level], *, is_timed: bool = False
) -> Piece:
    """From a guitar score's file to the same, fingered. Raises as ``make_piece`` does."""
    level = find_level(wishes.plan, levels)
    score = read_score(data, file_name)
    score = score.without_fingering() if wishes.is_anew else score
    plan = _settle_guitar(wishes, score)
    fingered, seconds = timed(lambda: finger_score(score, plan, levels))
    verdict = judge_fingering(fingered, score, level, plan.hand_size)
    report = describe_piece(score, fingered.arrangement, verdict, seconds if is_timed else None)
    return Piece(
        song=score,
        plan=plan,
        arrangement=fingered.arrangement,
        verdict=verdict,
        report=report,
        outputs=write_outputs(fingered.arrangement, plan, encode_report(report)),
    )


def _settle_guitar(wishes: Wishes, score: Score) -> Plan:
    """The plan with the tuning, the capo and the staves that were asked for, or else are written.

    Tablature alone has no room for the fingers that were asked for: notation is set over it.
    """
    tuning = score.tuning.name if score.tuning else STANDARD_TUNING.name
    staves = Staves.NOTATION_AND_TABLATURE if score.has_tablature else Staves.NOTATION
    return replace(
        wishes.plan,
        tuning=wishes.tuning or tuning,
        capo=score.capo if wishes.capo is None else wishes.capo,
        page=replace(wishes.plan.page, staves=wishes.staves or staves),
    )
