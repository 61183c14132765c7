"""What is hard, cause by cause, each trouble with its amount and in words.

Conventions: an amount is never negative, and is counted in the unit of its cause
(``points.RATES``); time is real time at the arrangement's tempo; lengths in millimetres on
the model's fingerboard.
"""

from collections.abc import Callable, Iterator, Mapping
from functools import partial
from itertools import combinations, pairwise

from apoyando.model.arrangement import Arrangement, Barre, Note
from apoyando.model.beat import name_count
from apoyando.model.hand import roman
from apoyando.model.instrument import STRINGS, Place, StringNumber, distance_mm, fret_distance_mm
from apoyando.model.level import Level
from apoyando.model.position import Shift, list_shifts
from apoyando.model.song import Bar, bar_at
from apoyando.model.time import Span
from apoyando.teaching.looks import find_looks
from apoyando.teaching.passage import Passage, Trouble
from apoyando.teaching.points import LAYING_QUARTERS, RELAXED_STROKES_PER_SECOND, Cause
from apoyando.teaching.stroke import Stroke, list_strokes
from apoyando.teaching.wording import fingers_of, name_fingers, name_targets

_MM_PER_DECIMETRE = 100.0
_NARROWEST_ROOM_MM = 1.0
"""A teacher's table may set comfortable and outermost alike: then every millimetre counts as one."""


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
            yield Trouble(stroke.onset, float(amount), partial(_hold_words, passage, stroke))


def _hold_words(passage: Passage, stroke: Stroke) -> str:
    staying, going = name_fingers(stroke.kept), name_fingers(stroke.set_down)
    stays = "stays" if len(fingers_of(stroke.kept)) == 1 else "stay"
    goes = "goes" if len(fingers_of(stroke.set_down)) == 1 else "go"
    return (
        f"on {passage.beat(stroke.onset)} {staying} {stays} on {name_targets(stroke.kept)} "
        f"while {going} {goes} to {name_targets(stroke.set_down)}"
    )


def find_stretches(passage: Passage) -> Iterator[Trouble]:
    """For each stroke that sets a finger down, the widest opening beyond comfort.

    0 at the level's comfortable span, 1 at its outermost; beyond that it goes on growing.
    """
    for stroke in passage.strokes:
        spans = _open_spans(passage, stroke) if stroke.set_down else {}
        if spans:
            widest = max(spans, key=lambda pair: _stretch(passage, pair, spans[pair]))
            amount = _stretch(passage, widest, spans[widest])
            if amount:
                words = partial(_stretch_words, passage, stroke, widest, spans[widest])
                yield Trouble(stroke.onset, amount, words)


def _open_spans(passage: Passage, stroke: Stroke) -> dict[tuple[Note, Note], float]:
    """How far every two fingers open, in mm."""
    pairs = combinations(stroke.stopped, 2)
    return {
        (one, other): _span_mm(passage, stroke, one, other)
        for one, other in pairs
        if one.finger != other.finger
    }


def _span_mm(passage: Passage, stroke: Stroke, one: Note, other: Note) -> float:
    """Between two fingers; a barre counts where it is nearest, for it lies there anyway."""
    return min(
        distance_mm(here, there)
        for here in _lies_at(passage, stroke, one)
        for there in _lies_at(passage, stroke, other)
    )


def _lies_at(passage: Passage, stroke: Stroke, note: Note) -> Iterator[Place]:
    yield note.place
    for barre in passage.arrangement.barres if note.in_barre else ():
        is_its_own = barre.finger is note.finger and barre.fret == note.place.fret
        if is_its_own and barre.span.contains(stroke.onset):
            yield from (Place(StringNumber(string), barre.fret) for string in barre.strings)


def _stretch(passage: Passage, pair: tuple[Note, Note], span_mm: float) -> float:
    low, high = sorted(note.finger for note in pair)
    limit = passage.level.spans[low, high]
    beyond_mm = span_mm - limit.comfortable_mm * passage.hand_size
    room_mm = (limit.outermost_mm - limit.comfortable_mm) * passage.hand_size
    return max(0.0, beyond_mm / max(room_mm, _NARROWEST_ROOM_MM))


def _stretch_words(passage: Passage, stroke: Stroke, pair: tuple[Note, Note], span_mm: float) -> str:
    return (
        f"on {passage.beat(stroke.onset)} {name_fingers(pair)} open to {span_mm:.0f} mm, "
        f"for {name_targets(pair, with_frets=True)}"
    )


def find_shifts(passage: Passage) -> Iterator[Trouble]:
    """Shifts of the hand: decimetres along the neck by seconds since it last struck a stopped note."""
    for shift in list_shifts(passage.arrangement.notes):
        travel_mm = abs(fret_distance_mm(shift.new_position) - fret_distance_mm(shift.old_position))
        seconds = passage.seconds(shift.onset - shift.since)
        amount = travel_mm / _MM_PER_DECIMETRE / seconds
        yield Trouble(shift.onset, amount, partial(_shift_words, passage, shift, seconds))


def _shift_words(passage: Passage, shift: Shift, seconds: float) -> str:
    return (
        f"on {passage.beat(shift.onset)} the hand shifts from position {roman(shift.old_position)} "
        f"to {roman(shift.new_position)} within {seconds:.1f} seconds, for {name_targets(shift.target)}"
    )


def find_barres(passage: Passage) -> Iterator[Trouble]:
    """Barres, bar by bar: quarters, and some more where it is laid, times the share of the strings."""
    for barre in passage.arrangement.barres:
        for bar in passage.arrangement.bars:
            if bar.span.overlaps(barre.span):
                yield _barre_trouble(passage, barre, bar)


def _barre_trouble(passage: Passage, barre: Barre, bar: Bar) -> Trouble:
    inside = Span(max(barre.span.onset, bar.onset), min(barre.span.offset, bar.offset))
    laid = LAYING_QUARTERS if inside.onset == barre.span.onset and not _goes_on(passage, barre) else 0
    share = len(barre.strings) / len(STRINGS)
    words = partial(_barre_words, passage, barre, inside, bar)
    return Trouble(inside.onset, float(inside.duration + laid) * share, words)


def _goes_on(passage: Passage, barre: Barre) -> bool:
    """Whether it is a barre that lay at this fret already, over other strings."""
    return any(
        last.finger is barre.finger and last.fret == barre.fret and last.span.offset == barre.span.onset
        for last in passage.arrangement.barres
    )


def _barre_words(passage: Passage, barre: Barre, inside: Span, bar: Bar) -> str:
    beats = name_count(inside.duration / bar.meter.pulse)
    strings = "all six strings" if len(barre.strings) == len(STRINGS) else f"{len(barre.strings)} strings"
    return (
        f"from {passage.beat(inside.onset)} a barre at {roman(barre.fret)} lies across {strings} "
        f"for {beats} {'beats' if inside.duration > bar.meter.pulse else 'beat'}"
    )


def find_hurry(passage: Passage) -> Iterator[Trouble]:
    """Strokes after which the next comes faster than relaxed: the ratio of the rates, less one."""
    for index, (stroke, following) in enumerate(pairwise(passage.strokes)):
        seconds = passage.seconds(following.onset - stroke.onset)
        amount = 1.0 / (seconds * RELAXED_STROKES_PER_SECOND) - 1.0
        if amount > 0:
            yield Trouble(stroke.onset, amount, partial(_hurry_words, passage, index, seconds))


def _hurry_words(passage: Passage, index: int, seconds: float) -> str:
    return (
        f"from {passage.beat(passage.strokes[index].onset)} {_name_strokes(_count_as_quick(passage, index))} "
        f"follow each other at {1.0 / seconds:.1f} a second"
    )


def _count_as_quick(passage: Passage, index: int) -> int:
    """How many strokes in a row, to the end of the bar, follow each other as quickly as this one's next."""
    first, second = passage.strokes[index : index + 2]
    end = bar_at(passage.arrangement.bars, first.onset).offset
    count = 2
    for before, after in pairwise(passage.strokes[index + 1 :]):
        if after.onset >= end or after.onset - before.onset > second.onset - first.onset:
            break
        count += 1
    return count


def _name_strokes(count: int) -> str:
    few = ("two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve")
    return f"{few[count - 2] if count - 2 < len(few) else count} strokes"


_FINDERS: Mapping[Cause, Callable[[Passage], Iterator[Trouble]]] = {
    Cause.HOLDS: find_holds,
    Cause.STRETCH: find_stretches,
    Cause.SHIFT: find_shifts,
    Cause.BARRE: find_barres,
    Cause.SPEED: find_hurry,
    Cause.READING: find_looks,
}
