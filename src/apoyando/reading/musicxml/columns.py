"""The bars of a MusicXML score across all its parts: which part sings, which names the chords, and how long each is."""

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import islice
from xml.etree.ElementTree import Element

from apoyando.model.errors import Problem, UnreadableSongError
from apoyando.model.song import Bar
from apoyando.model.time import Quarters, Span
from apoyando.reading.draft import LONGEST_BAR_QUARTERS, MOST_BARS, MOST_NOTES, DraftNote, free_meter
from apoyando.reading.lines import is_called_backing, is_called_sung
from apoyando.reading.musicxml.barlines import BarlineSigns
from apoyando.reading.musicxml.directions import Direction
from apoyando.reading.musicxml.measures import Measure, read_measures

_MOST_PARTS = 200
_MOST_PROBLEMS = 20
_SHORTEN = "A song of this size cannot be arranged: save a shorter piece."
_FULL_REST = Fraction(4)
"""An empty measure in free time is as long as a whole rest."""

Parts = Sequence[Sequence[Measure]]
"""The measures of each part that has any."""


@dataclass(frozen=True, slots=True)
class Column:
    """One bar across all parts. ``cut`` is the invisible time taken away from its start.

    ``voices`` is the measure of the part that sings, ``names`` of the one that names the chords.
    """

    bar: Bar
    cut: Quarters
    voices: Measure
    names: Measure
    parts: tuple[Measure, ...]

    def place(self, note: DraftNote) -> DraftNote:
        """A note of one of the measures in the time of the piece."""
        return replace(note, onset=self.bar.onset + note.onset - self.cut)

    @property
    def directions(self) -> tuple[tuple[Quarters, Direction], ...]:
        """Those of all parts, each with its moment in the measure."""
        return tuple(each for measure in self.parts for each in measure.directions)


def read_parts(root: Element, file_name: str) -> list[list[Measure]]:
    """The parts that hold measures, each bounded.

    Raises UnreadableSongError if anything in them is wrong, or if there are none.
    """
    elements = root.findall("part")
    if len(elements) > _MOST_PARTS:
        what = f"The score has {len(elements)} parts."
        raise UnreadableSongError(file_name, (Problem("", what, _SHORTEN),))
    parts = [list(islice(read_measures(element), MOST_BARS + 1)) for element in elements]
    if max(map(len, parts), default=0) > MOST_BARS or _count_notes(parts) > MOST_NOTES:
        raise UnreadableSongError(file_name, (Problem("", "The score is absurdly long.", _SHORTEN),))
    problems = tuple(
        dict.fromkeys(problem for part in parts for measure in part for problem in measure.problems)
    )
    if problems:
        raise UnreadableSongError(file_name, problems[:_MOST_PROBLEMS])
    if not any(parts):
        empty = Problem("", "The score is empty.", "Write the song and save it.")
        raise UnreadableSongError(file_name, (empty,))
    return [_with_first_staff(part) for part in parts if part]


def _with_first_staff(part: list[Measure]) -> list[Measure]:
    """Where the first staff rests throughout, the next one has the notes of the part."""
    if _has_notes(part):
        return part
    return [replace(measure, notes=measure.lower_notes, lower_notes=()) for measure in part]


def _count_notes(parts: Parts) -> int:
    return sum(len(measure.notes) + len(measure.lower_notes) for part in parts for measure in part)


def _has_notes(part: Sequence[Measure]) -> bool:
    return any(measure.notes for measure in part)


def _has_chords(part: Sequence[Measure]) -> bool:
    return any(chord.chord for measure in part for chord in measure.chords)


def _has_words(part: Sequence[Measure]) -> bool:
    return any(note.lyrics for measure in part for note in measure.notes)


def choose_voice(parts: Parts, names: Sequence[str]) -> tuple[int, int]:
    """As ``choose_singer``, but a part that has the tune by its ``names`` or its words sings before any other.

    So a voice sings, and not the piano under it that has the chord symbols.
    """
    singer, namer = choose_singer(parts)
    sung = [
        place
        for place, part in enumerate(parts)
        if _has_notes(part) and (is_called_sung(names[place]) or _has_words(part))
    ]
    front = [place for place in sung if not is_called_backing(names[place])]
    if singer in sung or not front:
        return singer, namer
    voices = [place for place in front if _has_chords(parts[place])] or front
    return voices[0], voices[0] if _has_chords(parts[voices[0]]) else namer


def choose_singer(parts: Parts) -> tuple[int, int]:
    """The part that sings and the part that names the chords: the first that does both, if any."""
    singing = [place for place, part in enumerate(parts) if _has_notes(part)]
    naming = [place for place, part in enumerate(parts) if _has_chords(part)]
    both = [place for place in singing if place in naming]
    return (both or singing or [0])[0], (both or naming or singing or [0])[0]


def align(parts: Parts, choose: Callable[[Parts], tuple[int, int]]) -> list[Column]:
    """The bars in time: each as long as the longest part has it.

    ``choose`` gives the places of the part that sings and of the part that names the chords.
    """
    voices, names = choose(parts)
    count = max(len(parts[voices]), len(parts[names]))
    numbers = _number_measures(parts[voices])
    columns: list[Column] = []
    onset = Fraction(0)
    for index in range(count):
        across = tuple(part[index] for part in parts if index < len(part))
        singing, naming = _measure_at(parts[voices], index), _measure_at(parts[names], index)
        length = _length_of(singing, _telling(across) if index == 0 or singing.is_implicit else across)
        cut = _invisible_start(across) if index == 0 and count > 1 else Fraction(0)
        bar = Bar(
            index=index,
            number=numbers[index] if index < len(numbers) else str(index + 1),
            span=Span(onset, onset + length - cut),
            meter=singing.setting.meter or free_meter(length - cut),
            key=singing.setting.sounding_key,
        )
        columns.append(Column(bar, cut, singing, naming, across))
        onset = bar.offset
    return columns


def _measure_at(part: Sequence[Measure], index: int) -> Measure:
    """A part that has ended is silent."""
    if index < len(part):
        return part[index]
    last = part[-1]
    return replace(
        last,
        notes=(),
        lower_notes=(),
        chords=(),
        directions=(),
        expression=(),
        remarks=(),
        length=Fraction(0),
        left=_PLAIN,
        right=_PLAIN,
    )


_PLAIN = BarlineSigns()


def _telling(across: Sequence[Measure]) -> Sequence[Measure]:
    """The parts that tell how long a pickup is: a rest for the whole measure is as long as the others have it."""
    return [measure for measure in across if measure.notes or measure.lower_notes] or across


def _length_of(singing: Measure, across: Sequence[Measure]) -> Quarters:
    """What the bar really holds: a full bar where any part fills it, else as much as the longest part.

    A bar that holds nothing is a full bar's rest. Parts that only rest may be mistaken in
    their length, and do not make a bar longer than what is sung in it.
    """
    meter = singing.setting.meter
    full = meter.bar_length if meter else _FULL_REST
    sung = max((note.offset for note in singing.notes), default=Fraction(0))
    lengths = [measure.length for measure in across if measure.length > 0]
    if not lengths or (full in lengths and sung <= full):
        return full
    return min(max(lengths), Fraction(LONGEST_BAR_QUARTERS))


def _invisible_start(across: Sequence[Measure]) -> Quarters:
    """Hidden rests before a pickup only move it into place on the page: they take no time."""
    shown = [measure.first_shown for measure in across if measure.first_shown is not None]
    return min(shown, default=Fraction(0))


def _number_measures(part: Sequence[Measure]) -> list[str]:
    """The printed numbers; all are counted anew ("") if they do not tell the bars apart."""
    numbers: list[str] = []
    for measure in part:
        is_counted = bool(re.fullmatch(r"\d{1,5}[a-z]?", measure.number))
        continued = f"{numbers[-1].rstrip('b')}b" if numbers else "0"
        numbers.append(measure.number if is_counted else continued)
    return numbers if len(set(numbers)) == len(numbers) else [""] * len(numbers)
