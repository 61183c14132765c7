"""What was given up, and why: holds let go, inner notes left out, basses changed."""

from bisect import bisect_left
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from apoyando.arranging.assembly import Played, spell_in_chord
from apoyando.arranging.bass_line import BassStroke, explain_inversion
from apoyando.arranging.plot import Plot
from apoyando.arranging.slices import PlottedSlice
from apoyando.arranging.texture import BassDue, InnerDue, Lasting, Window
from apoyando.arranging.voice_leading import is_wanted_bass
from apoyando.fingering import Candidate, Chosen, ChosenSlice
from apoyando.model.arrangement import GivenUpHold, Relaxation, RelaxationStep, Role
from apoyando.model.harmony import Chord
from apoyando.model.song import Bar, bar_at
from apoyando.model.time import Quarters, Span


@dataclass(frozen=True, slots=True)
class Written:
    """The search's answer beside what is written of it: a note may be written shorter than it is held."""

    plot: Plot
    slices: Sequence[PlottedSlice]
    held: Sequence[ChosenSlice]
    written: Sequence[ChosenSlice]
    bars: tuple[Bar, ...]


def find_given_up_holds(
    answer: Written, bass: Iterable[Played], inner: Iterable[Played]
) -> tuple[GivenUpHold, ...]:
    """Every bass, and every inner note that is meant to last, that is written shorter than it was due."""
    plot = answer.plot
    wanted = {due.span.onset: due.span for window in plot.windows for due in window.bass}
    lasting = {
        (due.span.onset, due.line): due.span
        for window in plot.windows
        for due in window.inner
        if due.lasting is Lasting.LET_GO
    }
    holds = [_given_up(answer, note, plot.bass[note.entry], wanted[note.span.onset]) for note in bass]
    for note in inner:
        span = lasting.get((note.span.onset, plot.inner[note.entry][0].line))
        if span is not None:
            holds.append(_given_up(answer, note, plot.inner[note.entry], span))
    return tuple(sorted((hold for hold in holds if hold), key=lambda hold: hold.onset))


def _given_up(
    answer: Written, note: Played, entry: tuple[BassDue | InnerDue, Sequence[Candidate]], wanted: Span
) -> GivenUpHold | None:
    if note.span.offset == wanted.offset:
        return None
    due, candidates = entry
    return GivenUpHold(
        bar=bar_at(answer.bars, note.span.onset).number,
        onset=note.span.onset,
        pitch=spell_in_chord(due.chord, candidates[note.candidate].note),
        wanted_until=wanted.offset,
        held_until=note.span.offset,
        reason=_reason(answer, note),
    )


def _reason(answer: Written, note: Played) -> str:
    following = bisect_left(answer.slices, note.span.offset, key=lambda slice_: slice_.span.onset)
    held = answer.held[following].voices
    if note.touches[-1] in [choice for choice in held if choice] and note.touches[-1] not in [
        choice for choice in answer.written[following].voices if choice
    ]:
        return "the chord that it is struck in is written as long as its shortest note; it can ring on"
    return explain_release(note.touches[-1], _voices(answer.plot, answer.held[following]))


def explain_release(held: Chosen, answer: Iterable[tuple[str, Chosen | None]]) -> str:
    """Who needs the string or the finger at the moment of letting go; each voice with its name."""
    following = [(name, choice) for name, choice in answer if choice]
    for name, choice in following:
        if choice.touch.place.string == held.touch.place.string:
            return f"string {held.touch.place.string} is needed for the {name}"
    for name, choice in following:
        if held.touch.finger and choice.touch.finger == held.touch.finger:
            return f"finger {held.touch.finger:d} is needed for the {name} on {choice.touch.place}"
    for name, choice in following:
        if choice.touch.in_barre:
            return f"the barre at fret {choice.touch.place.fret} for the {name} covers it"
    return f"nothing takes its string or its finger, but keeping {held.touch.place} would cost more in what follows"


def _voices(plot: Plot, answer: ChosenSlice) -> list[tuple[str, Chosen | None]]:
    names = {Role.MELODY: "melody", Role.BASS: "bass", Role.INNER: "inner voice"}
    return [(names[role], choice) for role, choice in zip(plot.roles, answer.voices, strict=True)]


def find_relaxations(
    plot: Plot,
    bass: Sequence[Played],
    inner: Sequence[Played],
    bars: tuple[Bar, ...],
) -> tuple[Relaxation, ...]:
    """Every step away from the ideal, in order of time."""
    struck = {plot.bass[note.entry][0].span.onset: note for note in bass}
    filled = {plot.inner[note.entry][0].span.onset for note in inner}
    lines = _explain_inversions(plot, bass)
    found: list[Relaxation] = []
    for window in plot.windows:
        found += [
            r
            for due in window.bass
            for r in _bass_relaxations(
                due, struck.get(due.span.onset), plot, bars, lines.get(due.span.onset, "")
            )
        ]
        found += [
            Relaxation(
                RelaxationStep.INNER_DROPPED,
                bar_at(bars, due.span.onset).number,
                due.span.onset,
                "no tone of the chord can be reached here without letting go of another note",
            )
            for due in window.inner
            if due.is_texture and due.span.onset not in filled
        ]
    return tuple(sorted(found, key=lambda relaxation: relaxation.onset))


def _explain_inversions(plot: Plot, bass: Sequence[Played]) -> dict[Quarters, str]:
    """By their onsets the basses that are not their chord's own, each with what it does for the line, if anything."""
    harmony_at = _count_harmonies(plot.windows)
    entries = {window.span.onset for window in plot.windows}
    strokes = [
        BassStroke(
            candidates[note.candidate].note,
            due.chord,
            harmony_at[due.span.onset],
            due.span.onset in entries,
        )
        for note in bass
        for due, candidates in [plot.bass[note.entry]]
    ]
    return {
        note.span.onset: explain_inversion(strokes, at)
        for at, (note, stroke) in enumerate(zip(bass, strokes, strict=True))
        if not stroke.is_wanted
    }


def _count_harmonies(windows: Iterable[Window]) -> dict[Quarters, int]:
    """For each moment at which a bass is due the number of its harmony, which goes on over barlines.

    Over a pickup, in which nobody plays a bass, or a bar without a chord no harmony follows another.
    """
    numbers: dict[Quarters, int] = {}
    number, last = 0, None
    for window in windows:
        follows = last is not None and last.span.offset == window.span.onset
        goes_on = last is not None and follows and last.chord.is_same_as(window.chord)
        number += 0 if goes_on else 1 if follows else 2
        numbers |= {due.span.onset: number for due in window.bass}
        last = window
    return numbers


def _bass_relaxations(
    due: BassDue, note: Played | None, plot: Plot, bars: tuple[Bar, ...], line: str
) -> list[Relaxation]:
    bar = bar_at(bars, due.span.onset).number
    if note is None:
        why = "no tone of the chord lies below the melody within reach"
        return [Relaxation(RelaxationStep.BASS_DROPPED, bar, due.span.onset, why)]
    found: list[Relaxation] = []
    midi = plot.bass[note.entry][1][note.candidate].note
    if due.is_first and not is_wanted_bass(due.chord, midi):
        step = RelaxationStep.BASS_LINE if line else RelaxationStep.BASS_INVERSION
        names = f"{spell_in_chord(due.chord, midi).name} instead of {due.chord.bass or due.chord.root}"
        why = f"{names}: {line or _bass_gain(due.chord)}"
        found.append(Relaxation(step, bar, due.span.onset, why))
    if note.span.offset != due.span.offset:
        why = "another voice needs its string or its finger"
        found.append(Relaxation(RelaxationStep.BASS_SHORTENED, bar, due.span.onset, why))
    return found


def _bass_gain(chord: Chord) -> str:
    return f"the hand keeps the other notes of {chord.root} more easily so"
