"""What is hard, cause by cause, each trouble with its amount and in words.

Conventions: an amount is never negative, and is counted in the unit of its cause
(``points.RATES``); time is real time at the arrangement's tempo; lengths in millimetres on
the model's fingerboard.
"""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from itertools import combinations, pairwise

from apoyando.model.arrangement import Arrangement, Barre, Note
from apoyando.model.beat import name_count
from apoyando.model.hand import roman
from apoyando.model.instrument import LAST_FRET, STRINGS, distance_mm, fret_distance_mm
from apoyando.model.level import Level
from apoyando.model.song import Bar, bar_at
from apoyando.model.time import Quarters, Span
from apoyando.teaching.points import RELAXED_STROKES_PER_SECOND, Cause
from apoyando.teaching.stroke import Stroke, list_strokes
from apoyando.teaching.wording import fingers_of, name_beat, name_fingers, name_targets

_MM_PER_DECIMETRE = 100.0
_NARROWEST_ROOM_MM = 1.0
"""A teacher's table may set comfortable and outermost alike: then every millimetre counts as one."""
_IN_SIGNATURE = range(-1, 6)
"""The seven names of a key signature without sharps or flats, F to B, on the line of fifths."""


@dataclass(frozen=True, slots=True)
class Trouble:
    """One hard thing: when, how much of it, and what happens (to follow "Bar 3: ")."""

    onset: Quarters
    amount: float
    words: str


@dataclass(frozen=True, slots=True)
class Passage:
    """What the causes look at. ``strokes`` are those of the arrangement."""

    arrangement: Arrangement
    level: Level
    hand_size: float
    strokes: tuple[Stroke, ...]

    def seconds(self, quarters: Quarters) -> float:
        return float(quarters * 60 / self.arrangement.tempo_quarters_per_minute)

    def beat(self, moment: Quarters) -> str:
        return name_beat(self.arrangement.bars, moment)


def find_troubles(
    arrangement: Arrangement, level: Level, hand_size: float
) -> Mapping[Cause, tuple[Trouble, ...]]:
    """Every trouble of an arrangement by its cause."""
    passage = Passage(arrangement, level, hand_size, list_strokes(arrangement.notes))
    return {cause: tuple(find(passage)) for cause, find in _FINDERS.items()}


def find_holds(passage: Passage) -> Iterator[Trouble]:
    """Fingers that stay while others are set down: how many stay times how many are set."""
    for stroke in passage.strokes:
        amount = len(fingers_of(stroke.kept)) * len(fingers_of(stroke.set_down))
        if amount:
            staying, going = name_fingers(stroke.kept), name_fingers(stroke.set_down)
            stays = "stays" if len(fingers_of(stroke.kept)) == 1 else "stay"
            goes = "goes" if len(fingers_of(stroke.set_down)) == 1 else "go"
            words = (
                f"on {passage.beat(stroke.onset)} {staying} {stays} on {name_targets(stroke.kept)} "
                f"while {going} {goes} to {name_targets(stroke.set_down)}"
            )
            yield Trouble(stroke.onset, float(amount), words)


def find_stretches(passage: Passage) -> Iterator[Trouble]:
    """For each stroke that sets a finger down, the widest opening beyond comfort.

    0 at the level's comfortable span, 1 at its outermost; beyond that it goes on growing.
    """
    for stroke in passage.strokes:
        pairs = [pair for pair in combinations(stroke.stopped, 2) if pair[0].finger != pair[1].finger]
        if stroke.set_down and pairs:
            widest = max(pairs, key=lambda pair: _stretch(passage, *pair))
            amount = _stretch(passage, *widest)
            if amount:
                yield Trouble(stroke.onset, amount, _stretch_words(passage, stroke, *widest))


def _stretch(passage: Passage, one: Note, other: Note) -> float:
    limit = passage.level.spans[min(one.finger, other.finger), max(one.finger, other.finger)]
    beyond_mm = distance_mm(one.place, other.place) - limit.comfortable_mm * passage.hand_size
    room_mm = (limit.outermost_mm - limit.comfortable_mm) * passage.hand_size
    return max(0.0, beyond_mm / max(room_mm, _NARROWEST_ROOM_MM))


def _stretch_words(passage: Passage, stroke: Stroke, one: Note, other: Note) -> str:
    span_mm = distance_mm(one.place, other.place)
    return (
        f"on {passage.beat(stroke.onset)} {name_fingers((one, other))} open to {span_mm:.0f} mm, "
        f"for {name_targets((one, other))}"
    )


def find_shifts(passage: Passage) -> Iterator[Trouble]:
    """Changes of position: decimetres along the neck by seconds since the hand last set a finger down."""
    setting = [stroke for stroke in passage.strokes if stroke.set_down]
    for before, after in pairwise(setting):
        if before.position != after.position:
            travel_mm = abs(fret_distance_mm(after.position) - fret_distance_mm(before.position))
            seconds = passage.seconds(after.onset - before.onset)
            words = (
                f"on {passage.beat(after.onset)} the hand goes from position {roman(before.position)} "
                f"to {roman(after.position)} within {seconds:.1f} seconds, for {name_targets(after.set_down)}"
            )
            yield Trouble(after.onset, travel_mm / _MM_PER_DECIMETRE / seconds, words)


def find_barres(passage: Passage) -> Iterator[Trouble]:
    """Barres, bar by bar: seconds, times the share of the six strings that is covered."""
    for barre in passage.arrangement.barres:
        for bar in passage.arrangement.bars:
            if bar.span.overlaps(barre.span):
                yield _barre_trouble(passage, barre, bar)


def _barre_trouble(passage: Passage, barre: Barre, bar: Bar) -> Trouble:
    inside = Span(max(barre.span.onset, bar.onset), min(barre.span.offset, bar.offset))
    share = len(barre.strings) / len(STRINGS)
    beats = name_count(inside.duration / bar.meter.pulse)
    words = (
        f"from {passage.beat(inside.onset)} a barre at fret {barre.fret} lies across "
        f"{len(barre.strings)} strings for {beats} {'beats' if inside.duration > bar.meter.pulse else 'beat'}"
    )
    return Trouble(inside.onset, passage.seconds(inside.duration) * share, words)


def find_hurry(passage: Passage) -> Iterator[Trouble]:
    """Strokes after which the next comes faster than relaxed: the ratio of the rates, less one."""
    for stroke, following in pairwise(passage.strokes):
        seconds = passage.seconds(following.onset - stroke.onset)
        amount = 1.0 / (seconds * RELAXED_STROKES_PER_SECOND) - 1.0
        if amount > 0:
            words = f"after {passage.beat(stroke.onset)} the next stroke comes within {seconds:.2f} seconds"
            yield Trouble(stroke.onset, amount, words)


def find_signs(passage: Passage) -> Iterator[Trouble]:
    """Notes to look at twice: not in the key signature, or not where their fret is lowest."""
    for stroke in passage.strokes:
        bar = bar_at(passage.arrangement.bars, stroke.onset)
        for note in stroke.struck:
            if note.pitch.name.fifths - bar.key.fifths not in _IN_SIGNATURE:
                words = f"on {passage.beat(stroke.onset)} {note.pitch.name} is not in the key signature"
                yield Trouble(stroke.onset, 1.0, words)
            if _is_away(passage.arrangement, note):
                words = (
                    f"on {passage.beat(stroke.onset)} {note.pitch.name} is played "
                    f"on string {note.place.string} at fret {note.place.fret}"
                )
                yield Trouble(stroke.onset, 1.0, words)


def _is_away(arrangement: Arrangement, note: Note) -> bool:
    places = arrangement.tuning.places(note.pitch.midi, LAST_FRET)
    return note.place.fret > min((place.fret for place in places), default=note.place.fret)


_FINDERS: Mapping[Cause, Callable[[Passage], Iterator[Trouble]]] = {
    Cause.HOLDS: find_holds,
    Cause.STRETCH: find_stretches,
    Cause.SHIFT: find_shifts,
    Cause.BARRE: find_barres,
    Cause.SPEED: find_hurry,
    Cause.READING: find_signs,
}
