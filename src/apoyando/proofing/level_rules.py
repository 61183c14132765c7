"""The limits of a level on the left hand: frets, barres, shifts.

Each rule yields the places where a limit is passed, with a reason in a guitarist's words.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from enum import StrEnum
from fractions import Fraction
from itertools import pairwise

from apoyando.model.arrangement import Arrangement, Barre, Note, Role
from apoyando.model.hand import roman
from apoyando.model.level import BarreKind, Level
from apoyando.model.position import Shift, list_shifts
from apoyando.model.time import Quarters, Span
from apoyando.proofing.wording import name_barre, name_length, name_note, name_tempo


class LevelRule(StrEnum):
    """The soft limits of a level."""

    KEY = "key"
    HIGHEST_FRET = "highest fret"
    BARRE = "length of a barre"
    BARRE_KIND = "kind of barre"
    BARRE_REST = "rest between barres"
    SMALL_BARRE = "small barre"
    SHORTEST = "shortest value"
    TEMPO = "tempo"
    STRUCK_TOGETHER = "notes struck together"
    SHIFT = "farthest shift"
    SHIFT_TIME = "time for a shift"


@dataclass(frozen=True, slots=True, kw_only=True)
class Fault:
    """A limit passed: where, which, and what is to be said of it.

    ``stretch``: in which time something would have to be other for it not to be passed; None where
    that is the whole piece, or its texture. ``kept_at``: the fastest tempo, in quarters per minute,
    at which it would be kept; None where no tempo would help.
    """

    onset: Quarters
    rule: LevelRule
    stretch: Span | None
    words: str
    kept_at: Fraction | None = None


def find_high_frets(arrangement: Arrangement, level: Level) -> Iterator[Fault]:
    for note in arrangement.notes:
        highest = _highest_fret(arrangement, note, level)
        if note.place.fret > highest:
            whose = "accompaniment" if note.role.is_accompaniment else "tune"
            words = f"{name_note(note)} lies above fret {highest}, this level's highest for the {whose}"
            yield Fault(onset=note.onset, rule=LevelRule.HIGHEST_FRET, stretch=note.span, words=words)


def _highest_fret(arrangement: Arrangement, note: Note, level: Level) -> int:
    if note.role.is_accompaniment:
        return level.accompaniment_highest_fret
    if note.place.fret <= level.melody_highest_fret:
        return level.melody_highest_fret
    is_peak = _is_over_open_strings(arrangement, note) and _is_highest_of_its_neighbours(arrangement, note)
    return level.peak_fret if is_peak else level.melody_highest_fret


def _is_over_open_strings(arrangement: Arrangement, peak: Note) -> bool:
    return all(
        note.place.is_open for note in arrangement.notes if note.span.overlaps(peak.span) and note is not peak
    )


def _is_highest_of_its_neighbours(arrangement: Arrangement, peak: Note) -> bool:
    melody = sorted(arrangement.voice(Role.MELODY), key=lambda note: note.onset)
    at = melody.index(peak)
    return all(note.pitch.midi <= peak.pitch.midi for note in melody[max(0, at - 1) : at + 2])


def find_long_barres(arrangement: Arrangement, level: Level) -> Iterator[Fault]:
    for run in _barre_runs(arrangement.barres):
        lies = Span(run[0].span.onset, run[-1].span.offset)
        if lies.duration > level.barre_quarters:
            allowed = (
                f"at most {name_length(level.barre_quarters)}" if level.allows_barre else "none in this level"
            )
            words = f"{name_barre(run[0])} lies for {name_length(lies.duration)}, {allowed}"
            too_long = Span(lies.onset + level.barre_quarters, lies.offset)
            yield Fault(onset=lies.onset, rule=LevelRule.BARRE, stretch=too_long, words=words)


def find_unknown_barres(arrangement: Arrangement, level: Level) -> Iterator[Fault]:
    """Half and full barres where the level has barres, but none of that kind."""
    for barre in arrangement.barres if level.allows_barre else ():
        kind = BarreKind.FULL if barre.is_full else BarreKind.HALF
        if kind not in level.barre_kinds and not barre.is_small:
            words = f"{name_barre(barre)} is a {kind} barre, none in this level"
            yield _barre_fault(barre, LevelRule.BARRE_KIND, words)


def _barre_fault(barre: Barre, rule: LevelRule, words: str) -> Fault:
    return Fault(onset=barre.span.onset, rule=rule, stretch=barre.span, words=words)


def find_hinges(arrangement: Arrangement, level: Level) -> Iterator[Fault]:
    """Barres that are laid down or lifted while a note of their own finger goes on."""
    if BarreKind.HINGE in level.barre_kinds or not level.allows_barre:
        return
    for run in _barre_runs(arrangement.barres):
        barre, laid, lifted = run[0], run[0].span.onset, run[-1].span.offset
        for note in arrangement.notes:
            if note.finger is barre.finger and note.place.fret == barre.fret:
                for moment, done in ((laid, "is laid down"), (lifted, "is lifted")):
                    if note.onset < moment < note.offset:
                        words = (
                            f"{name_barre(barre)} {done} as a hinge while {name_note(note)} goes on, "
                            "none in this level"
                        )
                        yield Fault(onset=moment, rule=LevelRule.BARRE_KIND, stretch=note.span, words=words)


def find_small_barres(arrangement: Arrangement, level: Level) -> Iterator[Fault]:
    for barre in arrangement.barres:
        if barre.is_small and not level.small_barres:
            words = f"{name_barre(barre)} is a small one, none in this level"
            yield _barre_fault(barre, LevelRule.SMALL_BARRE, words)


def find_tired_barres(arrangement: Arrangement, level: Level) -> Iterator[Fault]:
    """Barres that follow another of their finger before it has rested, at whatever fret."""
    for last, run in pairwise(_barre_runs(arrangement.barres)):
        rest = run[0].span.onset - last[-1].span.offset
        if last[0].finger is run[0].finger and rest < level.barre_rest:
            rested = f"only {name_length(rest)}" if rest > 0 else "no time"
            words = f"{name_barre(run[0])} leaves {rested} of rest after the barre before it, at least {name_length(level.barre_rest)}"
            yield _barre_fault(run[0], LevelRule.BARRE_REST, words)


def _barre_runs(barres: Iterable[Barre]) -> list[list[Barre]]:
    """Barres at one fret that follow each other without a gap are one: the finger never rests."""
    runs: list[list[Barre]] = []
    for barre in sorted(barres, key=lambda barre: (barre.finger, barre.span.onset)):
        last = runs[-1][-1] if runs else None
        if last and _goes_on(last, barre):
            runs[-1].append(barre)
        else:
            runs.append([barre])
    return runs


def _goes_on(last: Barre, barre: Barre) -> bool:
    is_the_same = last.finger is barre.finger and last.fret == barre.fret
    return is_the_same and last.span.offset == barre.span.onset


def find_far_shifts(arrangement: Arrangement, level: Level) -> Iterator[Fault]:
    for shift in list_shifts(arrangement.notes):
        if shift.frets > level.shift_frets:
            ways = f"from position {roman(shift.old_position)} to {roman(shift.new_position)}"
            words = f"the hand shifts {shift.frets} frets, {ways}, at most {level.shift_frets} in this level"
            yield _shift_fault(shift, LevelRule.SHIFT, words)


def _shift_fault(shift: Shift, rule: LevelRule, words: str) -> Fault:
    """From the notes that the hand leaves to those that it comes to."""
    arrived = min(note.offset for note in shift.target)
    return Fault(onset=shift.onset, rule=rule, stretch=Span(shift.since, arrived), words=words)


def find_hasty_shifts(arrangement: Arrangement, level: Level) -> Iterator[Fault]:
    """Shifts straight from a short note, with no open string and no rest to shift over."""
    tempo = arrangement.tempo_quarters_per_minute
    shortest = level.at_tempo(level.shift_quarters, tempo)
    for shift in list_shifts(arrangement.notes):
        if not shift.is_free and shift.onset - shift.since < shortest:
            kept_at = level.fastest_for(shift.onset - shift.since, level.shift_quarters)
            fault = _shift_fault(shift, LevelRule.SHIFT_TIME, _tell_haste(shift, level, tempo))
            yield replace(fault, kept_at=kept_at)


def _tell_haste(shift: Shift, level: Level, tempo: Fraction) -> str:
    is_faster = tempo > level.tempo_quarters_per_minute
    here = f" at {name_tempo(tempo)}" if is_faster else ""
    there = f" at {name_tempo(Fraction(level.tempo_quarters_per_minute))}" if is_faster else ""
    return (
        f"the hand shifts from position {roman(shift.old_position)} to {roman(shift.new_position)} "
        f"within {name_length(shift.onset - shift.since)}{here}; this level shifts over "
        f"an open string, a rest or {name_length(level.shift_quarters)}{there}"
    )
