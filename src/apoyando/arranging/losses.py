"""What was given up, and why: holds let go, inner notes left out, basses changed."""

from collections.abc import Iterable, Sequence

from apoyando.arranging.assembly import Played, spell_in_chord
from apoyando.arranging.slices import VOICES, Plot, PlottedSlice
from apoyando.arranging.texture import BassDue
from apoyando.fingering import Chosen, ChosenSlice
from apoyando.model.arrangement import GivenUpHold, Relaxation, RelaxationStep, Role
from apoyando.model.harmony import Chord
from apoyando.model.song import Bar, bar_at


def find_given_up_holds(
    plot: Plot,
    played: Iterable[Played],
    slices: Sequence[PlottedSlice],
    chosen: Sequence[ChosenSlice],
    bars: tuple[Bar, ...],
) -> tuple[GivenUpHold, ...]:
    """Every bass that is written shorter than it was due."""
    wanted = {due.span.onset: due.span for window in plot.windows for due in window.bass}
    index_at = {slice_.span.onset: index for index, slice_ in enumerate(slices)}
    holds: list[GivenUpHold] = []
    for note in played:
        due, candidates = plot.bass[note.entry]
        until = wanted[due.span.onset].offset
        if note.span.offset == until:
            continue
        answer = chosen[index_at[note.span.offset]]
        holds.append(
            GivenUpHold(
                bar=bar_at(bars, note.span.onset).number,
                onset=note.span.onset,
                pitch=spell_in_chord(due.chord, candidates[note.candidate].note),
                wanted_until=until,
                held_until=note.span.offset,
                reason=explain_release(note.touches[-1], _voices(answer)),
            )
        )
    return tuple(holds)


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


def _voices(answer: ChosenSlice) -> list[tuple[str, Chosen | None]]:
    names = {Role.MELODY: "melody", Role.BASS: "bass", Role.INNER: "inner voice"}
    return [(names[role], choice) for role, choice in zip(VOICES, answer.voices, strict=True)]


def find_relaxations(
    plot: Plot,
    bass: Sequence[Played],
    inner: Sequence[Played],
    bars: tuple[Bar, ...],
) -> tuple[Relaxation, ...]:
    """Every step away from the ideal, in order of time."""
    struck = {plot.bass[note.entry][0].span.onset: note for note in bass}
    filled = {plot.inner[note.entry][0].span.onset for note in inner}
    found: list[Relaxation] = []
    for window in plot.windows:
        found += [
            r for due in window.bass for r in _bass_relaxations(due, struck.get(due.span.onset), plot, bars)
        ]
        found += [
            Relaxation(
                RelaxationStep.INNER_DROPPED,
                bar_at(bars, due.span.onset).number,
                due.span.onset,
                "no tone of the chord can be reached here without letting go of another note",
            )
            for due in window.inner
            if due.keeps_motion and due.span.onset not in filled
        ]
    return tuple(sorted(found, key=lambda relaxation: relaxation.onset))


def _bass_relaxations(
    due: BassDue, note: Played | None, plot: Plot, bars: tuple[Bar, ...]
) -> list[Relaxation]:
    bar = bar_at(bars, due.span.onset).number
    if note is None:
        why = "no tone of the chord lies below the melody within reach"
        return [Relaxation(RelaxationStep.BASS_DROPPED, bar, due.span.onset, why)]
    found: list[Relaxation] = []
    midi = plot.bass[note.entry][1][note.candidate].note
    wanted = due.chord.bass or due.chord.root
    if due.is_first and midi % 12 != wanted.pitch_class:
        why = f"{spell_in_chord(due.chord, midi).name} instead of {wanted}: {_bass_gain(due.chord)}"
        found.append(Relaxation(RelaxationStep.BASS_INVERSION, bar, due.span.onset, why))
    if note.span.offset != due.span.offset:
        why = "another voice needs its string or its finger"
        found.append(Relaxation(RelaxationStep.BASS_SHORTENED, bar, due.span.onset, why))
    return found


def _bass_gain(chord: Chord) -> str:
    return f"the hand keeps the other notes of {chord.root} more easily so"
