"""What a fingered score had to give up, each with its bar and its reason; never silent."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations, groupby

from apoyando.arranging.losses import explain_release
from apoyando.arranging.scores.given import GivenSlice
from apoyando.arranging.scores.playing import PlayedSound
from apoyando.arranging.scores.sounds import Sound
from apoyando.fingering import Chosen, ChosenSlice, Touch
from apoyando.model.arrangement import Barre, GivenUpHold, Note, Relaxation, RelaxationStep, Role
from apoyando.model.hand import Finger
from apoyando.model.instrument import distance_mm
from apoyando.model.level import Level
from apoyando.model.position import find_guide_to
from apoyando.model.score import Score
from apoyando.model.song import bar_at
from apoyando.model.time import Quarters

_NAMES = {Role.MELODY: "melody", Role.BASS: "bass", Role.INNER: "inner voice"}


@dataclass(frozen=True, slots=True)
class Answer:
    """A score beside the hand's way through it; ``sounds`` are those that the slices speak of."""

    score: Score
    sounds: tuple[Sound, ...]
    slices: tuple[GivenSlice, ...]
    chosen: tuple[ChosenSlice, ...]
    played: tuple[PlayedSound, ...]


def find_shortened(answer: Answer) -> tuple[GivenUpHold, ...]:
    """Every written note that ends before its time, in order."""
    return tuple(
        GivenUpHold(
            bar=bar_at(answer.score.bars, note.onset).number,
            onset=note.onset,
            pitch=note.pitch,
            wanted_until=note.offset,
            held_until=played.until,
            reason=_reason(answer, played),
        )
        for played in answer.played
        for note in (answer.score.notes[index] for index in played.sound.notes)
        if note.offset > played.until
    )


def _reason(answer: Answer, played: PlayedSound) -> str:
    if played.until == played.sound.offset:
        return "a guitar has six strings, and one more note begins"
    return explain_release(played.touches[-1], _named_choices(answer, played.next_slice))


def _named_choices(answer: Answer, number: int) -> Iterator[tuple[str, Chosen | None]]:
    """What each voice does in a slice, with its name."""
    for index, choice in zip(answer.slices[number].sounds, answer.chosen[number].voices, strict=True):
        if index is not None:
            yield _NAMES[answer.sounds[index].role], choice


def find_let_go(answer: Answer) -> Iterator[Relaxation]:
    """Melody notes that end early, and fingering that was written and is not kept."""
    for played in answer.played:
        sound = played.sound
        if sound.sung_until is not None and played.until < sound.sung_until:
            why = f"{_pitch(answer.score, sound)} cannot be held: {_reason(answer, played)}"
            yield _relax(answer.score, RelaxationStep.MELODY_SHORTENED, sound.onset, why)
        said = ", ".join(dict.fromkeys(_not_kept(answer.score, played)))
        if said:
            touch = played.touch
            finger = "" if touch.place.is_open else f", finger {touch.finger:d}"
            why = f"{_pitch(answer.score, sound)}: {said} cannot be kept; it is {touch.place}{finger}"
            yield _relax(answer.score, RelaxationStep.FINGERING_LET_GO, sound.onset, why)


def _not_kept(score: Score, played: PlayedSound) -> Iterator[str]:
    """What is written of the left hand, in any voice, and is played otherwise."""
    touch = played.touch
    for given in (score.notes[index].given for index in played.sound.notes):
        if given.string not in (None, touch.place.string):
            yield f"string {given.string}"
        if given.fret not in (None, touch.place.fret):
            yield f"fret {given.fret}"
        if given.finger not in (None, touch.finger):
            yield f"finger {given.finger:d}"


def find_barres_let_go(score: Score, laid: Sequence[Barre]) -> Iterator[Relaxation]:
    """Barres that the score names and that lie nowhere in their time."""
    for barre in score.barres:
        if not any(other.fret == barre.fret and other.span.overlaps(barre.span) for other in laid):
            why = f"the barre at fret {barre.fret} is not laid: no note is written for it, or the hand cannot"
            yield _relax(score, RelaxationStep.FINGERING_LET_GO, barre.onset, why)


def find_guides_let_go(score: Score, notes: Sequence[Note]) -> Iterator[Relaxation]:
    """Guide fingers that the score names and that were elsewhere before."""
    for note in notes:
        if note.is_guided and find_guide_to(notes, note) is None:
            why = f"{note.pitch}: finger {note.finger:d} does not come along string {note.place.string}, and is no guide"
            yield _relax(score, RelaxationStep.FINGERING_LET_GO, note.onset, why)


def find_left_out(score: Score, sounds: Iterable[Sound], reason: str) -> Iterator[Relaxation]:
    """Notes that are not played, for the player to decide; a unison by each of its names."""
    for sound in sounds:
        for name in dict.fromkeys(str(score.notes[index].pitch) for index in sound.notes):
            why = f"{name} is left out: {reason}"
            yield _relax(score, RelaxationStep.PLAYER_DECIDES, sound.onset, why)


def _pitch(score: Score, sound: Sound) -> str:
    return str(score.notes[sound.notes[0]].pitch)


def find_over_level(answer: Answer, level: Level, hand_size: float) -> Iterator[Relaxation]:
    """The bars in which the hand does more than the level asks of it, each where it first does."""
    bars = answer.score.bars
    found = (
        (slice_.onset, why)
        for slice_, chosen in zip(answer.slices, answer.chosen, strict=True)
        for why in _excesses([choice.touch for choice in chosen.voices if choice], level, hand_size)
    )
    for _, in_bar in groupby(found, key=lambda entry: bar_at(bars, entry[0]).index):
        onset, why = next(in_bar)
        yield _relax(answer.score, RelaxationStep.OVER_LEVEL, onset, why)


def _excesses(touches: Sequence[Touch], level: Level, hand_size: float) -> Iterator[str]:
    for one, other in combinations(touches, 2):
        if Finger.OPEN in (one.finger, other.finger) or one.finger is other.finger:
            continue
        low, high = sorted((one.finger, other.finger))
        apart, limit = distance_mm(one.place, other.place), level.spans[low, high].outermost_mm * hand_size
        if apart > limit:
            yield f"fingers {low:d} and {high:d} lie {apart:.0f} mm apart, at this level {limit:.0f}"
    for touch in touches:
        if touch.in_barre and touch.finger not in level.flat_fingers:
            yield f"finger {touch.finger:d} lies flat, which this level has no barre for"
        elif touch.in_barre and not level.small_barres and _is_beside(touch, touches):
            yield f"the barre at fret {touch.place.fret} leaves a string beside it free"


def _is_beside(flat: Touch, touches: Sequence[Touch]) -> bool:
    """Whether a string that a barre up to string 1 would cover sounds open, below or beside it."""
    return any(
        touch.place.string < flat.place.string and touch.place.fret <= flat.place.fret
        for touch in touches
        if touch.finger is not flat.finger
    )


def _relax(score: Score, step: RelaxationStep, onset: Quarters, reason: str) -> Relaxation:
    return Relaxation(step, bar_at(score.bars, onset).number, onset, reason)
