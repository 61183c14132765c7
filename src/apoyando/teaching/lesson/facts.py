"""What the sentences of a lesson sheet are made from."""

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace

from apoyando.model.arrangement import Arrangement, Barre
from apoyando.model.level import Level
from apoyando.model.position import Shift, list_shifts
from apoyando.model.ring import Ring
from apoyando.model.song import Bar
from apoyando.model.time import Span
from apoyando.teaching.difficulty import BarDifficulty, HardBar, choose_hard_bars
from apoyando.teaching.passage import Trouble
from apoyando.teaching.points import Cause
from apoyando.teaching.stroke import Stroke, list_strokes
from apoyando.teaching.troubles import find_troubles
from apoyando.teaching.voice_leading import VoiceLeading

_ANY_POINTS = 0.01
"""The least that a difficulty is told to."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Studied:
    """An arrangement and what the rooms that look at it have found.

    ``difficulties`` and ``leading`` are those of this room, ``rings`` all that proofing gives;
    ``beyond_level`` are its sentences on limits of the level that are passed, in order of time.
    """

    arrangement: Arrangement
    level: Level
    hand_size: float
    difficulties: tuple[BarDifficulty, ...]
    rings: tuple[Ring, ...] = ()
    leading: VoiceLeading = field(default_factory=VoiceLeading)
    beyond_level: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Facts:
    """``bars_to_practise`` are the two or three that ask most, hard or not.

    ``barres`` are those that a hand lays: one that goes on over other strings is one, over all of them.
    """

    studied: Studied
    strokes: tuple[Stroke, ...]
    troubles: Mapping[Cause, tuple[Trouble, ...]]
    shifts: tuple[Shift, ...]
    barres: tuple[Barre, ...]
    bars_to_practise: tuple[HardBar, ...]

    @property
    def arrangement(self) -> Arrangement:
        return self.studied.arrangement

    @property
    def bars(self) -> tuple[Bar, ...]:
        return self.studied.arrangement.bars


PieceRule = Callable[[Facts], Iterator[str]]
"""Sentences on the piece: none where the fact does not hold."""
BarRule = Callable[[Facts, Bar], Iterator[str]]
"""Sentences on one bar."""


def gather_facts(studied: Studied) -> Facts:
    """All that is told of a piece is looked up here."""
    return Facts(
        studied=studied,
        strokes=list_strokes(studied.arrangement.notes),
        troubles=find_troubles(studied.arrangement, studied.level, studied.hand_size),
        shifts=list_shifts(studied.arrangement.notes),
        barres=_join_barres(studied.arrangement.barres),
        bars_to_practise=choose_hard_bars(studied.difficulties, _ANY_POINTS),
    )


def _join_barres(barres: Iterable[Barre]) -> tuple[Barre, ...]:
    joined: list[Barre] = []
    for barre in sorted(barres, key=lambda barre: barre.span.onset):
        before = next((last for last in joined if _goes_on(last, barre)), None)
        if before:
            joined[joined.index(before)] = replace(
                before,
                lowest_string=max(before.lowest_string, barre.lowest_string),
                highest_string=min(before.highest_string, barre.highest_string),
                span=Span(before.span.onset, barre.span.offset),
            )
        else:
            joined.append(barre)
    return tuple(joined)


def _goes_on(before: Barre, barre: Barre) -> bool:
    is_alike = before.finger is barre.finger and before.fret == barre.fret
    return is_alike and before.span.offset == barre.span.onset
