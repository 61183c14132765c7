"""Passages for the left hand, asked and answered as a player would write them.

A voice is a row of notes, each with its length in quarters after a colon: a pitch (``C4:1``)
where the string is free, or string/fret (``5/3:1``) where it is given, with a finger
(``5/3-3:1``) where that is given too; ``r`` is a rest. The answer is the same row without
the lengths, every note with its string, fret and finger.
"""

from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

from apoyando.fingering import (
    SILENT,
    Candidate,
    NoWayError,
    Problem,
    Slice,
    Solution,
    VoiceSlice,
    find_best_way,
)
from apoyando.model.instrument import STANDARD_TUNING, Fret, Place, StringNumber
from apoyando.model.level import Level
from apoyando.model.prices import Prices
from apoyando.model.time import Quarters, Span
from builders import make_pitch

HIGHEST_FRET = 12


@dataclass(frozen=True)
class Wanted:
    """A note that must sound."""

    span: Span
    candidate: Candidate


@dataclass(frozen=True)
class Answer:
    """``price`` is None and there are no voices where there is no way."""

    voices: tuple[str, ...]
    price: int | None


def ask_passage(*voices: str, level: Level, seconds_per_quarter: float = 0.6) -> Answer:
    """The first voice is the tune."""
    rows = [read_voice(voice) for voice in voices]
    problem, starts = pose(rows, seconds_per_quarter)
    try:
        solution = find_best_way(problem, tuning=STANDARD_TUNING, level=level, prices=Prices())
    except NoWayError:
        return Answer((), None)
    return Answer(
        tuple(
            " ".join(answered(solution, i, starts.index(note.span.onset)) for note in row)
            for i, row in enumerate(rows)
        ),
        solution.price,
    )


def read_voice(text: str) -> list[Wanted]:
    now, notes = Fraction(0), []
    for word in text.split():
        note, length = word.split(":")
        span = Span(now, now + Fraction(length))
        if note != "r":
            notes.append(Wanted(span, read_candidate(note)))
        now = span.offset
    return notes


def read_candidate(note: str) -> Candidate:
    if "/" not in note:
        return Candidate(make_pitch(note).midi, highest_fret=HIGHEST_FRET)
    place, _, finger = note.partition("-")
    string, fret = (int(number) for number in place.split("/"))
    return Candidate(
        STANDARD_TUNING.note_at(Place(StringNumber(string), Fret(fret))),
        strings=(string,),
        fingers=(int(finger),) if finger else (),
    )


def pose(rows: list[list[Wanted]], seconds_per_quarter: float) -> tuple[Problem, list[Quarters]]:
    """The question, and the onsets of its slices."""
    moments = sorted({moment for row in rows for n in row for moment in (n.span.onset, n.span.offset)})
    slices = tuple(
        Slice(
            quarters=float(end - start),
            seconds=float(end - start) * seconds_per_quarter,
            voices=tuple(voice_at(row, start, sings=row is rows[0]) for row in rows),
        )
        for start, end in pairwise(moments)
    )
    return Problem(slices), moments


def voice_at(row: list[Wanted], moment: Quarters, *, sings: bool) -> VoiceSlice:
    for note in row:
        if note.span.contains(moment):
            is_struck = note.span.onset == moment
            return VoiceSlice(candidates=(note.candidate,), is_struck=is_struck, sings=sings)
    return SILENT


def answered(solution: Solution, voice: int, index: int) -> str:
    chosen = solution.slices[index].voices[voice]
    assert chosen is not None
    place = chosen.touch.place
    return f"{place.string}/{place.fret}-{int(chosen.touch.finger)}"
