"""A whole MusicXML score to a ``Draft``: which part sings, which names the chords, and the bars of both.

``read_columns`` and ``draft_columns`` are the two halves, for those who choose the parts otherwise.
"""

import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import islice
from xml.etree.ElementTree import Element

from apoyando.model.bar_names import list_bars
from apoyando.model.errors import Problem, UnreadableSongError
from apoyando.model.song import Bar, Barline, Jump, ReadingRemark
from apoyando.model.time import Quarters, Span
from apoyando.reading.chord_symbols import read_chord_symbol
from apoyando.reading.draft import (
    LONGEST_BAR_QUARTERS,
    MOST_BARS,
    MOST_NOTES,
    Draft,
    DraftChord,
    DraftNote,
    free_meter,
    tell_odd_tempo,
)
from apoyando.reading.expression import tell_expression
from apoyando.reading.form import sort_jumps
from apoyando.reading.musicxml.barlines import BarlineSigns
from apoyando.reading.musicxml.directions import Direction
from apoyando.reading.musicxml.heading import Heading, read_heading
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


def draft_score(root: Element, file_name: str, *, letters_guessed: bool) -> Draft:
    """The draft of a partwise score. Raises UnreadableSongError with every place that is wrong."""
    columns = align(read_parts(root, file_name), choose_singer)
    notes = tuple(_gather_notes(columns))
    return draft_columns(columns, notes, read_heading(root, file_name), letters_guessed=letters_guessed)


def draft_columns(
    columns: Sequence[Column],
    notes: tuple[DraftNote, ...],
    heading: Heading,
    *,
    letters_guessed: bool,
    keeps_dynamics: bool = False,
) -> Draft:
    """The draft of these bars with these notes in them. ``keeps_dynamics``: who asks reads them."""
    chords, chord_remarks = _gather_chords(columns)
    tempo, tempo_words, tempo_remarks = _read_tempo(columns)
    return Draft(
        title=heading.title,
        composer=heading.composer,
        lyricist=heading.lyricist,
        rights=heading.rights,
        bars=_with_form(columns),
        notes=notes,
        chords=chords,
        tempo_quarters_per_minute=tempo,
        tempo_words=tempo_words,
        remarks=(
            *((_LETTERS_GUESSED,) if letters_guessed else ()),
            *_gather_remarks(columns),
            *chord_remarks,
            *tempo_remarks,
            *tell_expression(_find_expression(columns, keeps_dynamics=keeps_dynamics)),
        ),
    )


_LETTERS_GUESSED = ReadingRemark(
    "", "The letters of the file are not UTF-8 as it says: read as Latin-1. Look at the words."
)


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
    return [part for part in parts if part]


def _count_notes(parts: Parts) -> int:
    return sum(len(measure.notes) + len(measure.lower_notes) for part in parts for measure in part)


def _has_notes(part: Sequence[Measure]) -> bool:
    return any(measure.notes for measure in part)


def _has_chords(part: Sequence[Measure]) -> bool:
    return any(chord.chord for measure in part for chord in measure.chords)


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
        length = _length_of(singing, across)
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


def _gather_notes(columns: Sequence[Column]) -> Iterator[DraftNote]:
    for column in columns:
        yield from (column.place(note) for note in column.voices.notes)


def _gather_chords(columns: Sequence[Column]) -> tuple[tuple[DraftChord, ...], tuple[ReadingRemark, ...]]:
    """Chord symbols, and words that stand for them."""
    chords: list[DraftChord] = []
    remarks: list[ReadingRemark] = []
    letters = [text for _, _, text in _loose_words(columns) if re.fullmatch("[A-G]", text)]
    for column in columns:
        chords += [_at(column, chord) for chord in column.names.chords]
    for column, moment, text in _loose_words(columns):
        reading = None if text in letters and _are_sections(letters) else read_chord_symbol(text)
        if reading is None or reading.ignored:
            remarks.append(ReadingRemark(column.bar.number, f"The words “{text}” are not carried over."))
        else:
            chords.append(_at(column, DraftChord(moment, reading.chord)))
        if reading and reading.chord and not reading.ignored:
            remarks.append(
                ReadingRemark(column.bar.number, f"The words “{text}” are read as a chord symbol.")
            )
    return tuple(chords), tuple(remarks)


def _at(column: Column, chord: DraftChord) -> DraftChord:
    """Never before the bar, and never after it: an offset beyond the bar is held at its last eighth."""
    onset = max(column.bar.onset + chord.onset - column.cut, column.bar.onset)
    return replace(chord, onset=onset if onset < column.bar.offset else column.bar.onset)


def _loose_words(columns: Sequence[Column]) -> list[tuple[Column, Quarters, str]]:
    """Words that are neither a jump, a section nor a tempo; each once where parts repeat them."""
    found: dict[tuple[int, Quarters, str], tuple[Column, Quarters, str]] = {}
    for column in columns:
        for moment, direction in _directions(column):
            for text in direction.words:
                found.setdefault((column.bar.index, moment, text), (column, moment, text))
    return list(found.values())


def _are_sections(letters: Sequence[str]) -> bool:
    """Single letters above the staff are sections if they begin with A and count on; else chords."""
    return letters[:1] == ["A"] and list(letters) == sorted(set(letters)) and len(letters) > 1


def _directions(column: Column) -> Iterator[tuple[Quarters, Direction]]:
    for measure in column.parts:
        yield from measure.directions


def _gather_remarks(columns: Sequence[Column]) -> Iterator[ReadingRemark]:
    for column in columns:
        texts = dict.fromkeys((*column.voices.remarks, *column.names.remarks))
        yield from (ReadingRemark(column.bar.number, text) for text in texts)


def _find_expression(columns: Sequence[Column], *, keeps_dynamics: bool) -> Iterator[tuple[str, str]]:
    for column in columns:
        for _, direction in column.voices.directions:
            signs = direction.swells if keeps_dynamics else (*direction.dynamics, *direction.swells)
            yield from ((column.bar.number, sign) for sign in signs)
        yield from ((column.bar.number, sign) for sign in column.voices.expression)


def _read_tempo(
    columns: Sequence[Column],
) -> tuple[Fraction | None, str, tuple[ReadingRemark, ...]]:
    """The first tempo counts for the whole piece; changes are remarked on."""
    marked = [(column, direction) for column in columns for _, direction in _directions(column)]
    tempos = [(column.bar.number, direction.tempo) for column, direction in marked if direction.tempo]
    words = [
        (column.bar.number, direction.tempo_words) for column, direction in marked if direction.tempo_words
    ]
    tempo = tempos[0][1] if tempos else None
    first_words = words[0][1] if words else ""
    changes = [number for number, other in tempos if other != tempo]
    changes += [number for number, text in words if text != first_words]
    remarks = (
        (ReadingRemark(changes[0], f"Changes of tempo are not carried over ({list_bars(changes)})."),)
        if changes
        else ()
    )
    odd = dict.fromkeys(
        (column.bar.number, direction.odd_tempo) for column, direction in marked if direction.odd_tempo
    )
    odd_remarks = (ReadingRemark(number, tell_odd_tempo(text)) for number, text in odd)
    return tempo, first_words, (*remarks, *odd_remarks)


def _with_form(columns: Sequence[Column]) -> tuple[Bar, ...]:
    """The bars with repeats, endings, barlines, jumps and sections as written."""
    bars = [_with_signs(column) for column in columns]
    _place_jumps(bars, columns)
    _place_endings(bars, columns)
    for column in columns[1:]:
        style = _merged(column, "left").style
        before = bars[column.bar.index - 1]
        begins_repeat = bars[column.bar.index].starts_repeat
        is_plain = before.barline is Barline.REGULAR and not before.repeat_times
        if style is not Barline.REGULAR and is_plain and not begins_repeat:
            bars[before.index] = replace(before, barline=style)
    return tuple(bars)


def _merged(column: Column, side: str) -> BarlineSigns:
    """What any part says of one side of the bar."""
    signs: list[BarlineSigns] = [
        measure.left if side == "left" else measure.right for measure in column.parts
    ]
    return BarlineSigns(
        repeats_forward=any(sign.repeats_forward for sign in signs),
        repeats_backward=max(sign.repeats_backward for sign in signs),
        repeats_after_jump=any(sign.repeats_after_jump for sign in signs),
        ending_starts=next((sign.ending_starts for sign in signs if sign.ending_starts), ()),
        ending_stops=any(sign.ending_stops for sign in signs),
        style=next((sign.style for sign in signs if sign.style is not Barline.REGULAR), Barline.REGULAR),
    )


def _with_signs(column: Column) -> Bar:
    left, right = _merged(column, "left"), _merged(column, "right")
    section = next((direction.section for _, direction in _directions(column) if direction.section), "")
    has_repeat = right.repeats_backward > 0
    return replace(
        column.bar,
        starts_repeat=left.repeats_forward,
        repeat_times=right.repeats_backward,
        repeats_after_jump=has_repeat and right.repeats_after_jump,
        barline=Barline.REGULAR if has_repeat else right.style,
        section=section,
    )


def _place_jumps(bars: list[Bar], columns: Sequence[Column]) -> None:
    """A coda sign after the music of a bar is the place to leave from; a segno there opens the next bar."""
    for column in columns:
        for moment, direction in _directions(column):
            is_at_end = column.bar.onset + moment - column.cut >= column.bar.offset
            for jump in direction.jumps:
                _place_jump(bars, column.bar.index, jump, is_at_end=is_at_end)
            if direction.jump_words:
                index = column.bar.index
                bars[index] = replace(bars[index], jump_words=direction.jump_words)


def _place_jump(bars: list[Bar], index: int, jump: Jump, *, is_at_end: bool) -> None:
    if jump is Jump.CODA and is_at_end:
        jump = Jump.TO_CODA
    if jump is Jump.SEGNO and is_at_end and index + 1 < len(bars):
        index += 1
    bars[index] = replace(bars[index], jumps=sort_jumps((*bars[index].jumps, jump)))


def _place_endings(bars: list[Bar], columns: Sequence[Column]) -> None:
    """Each ending from its start to its stop; one that never stops ends at the next sign."""
    active: tuple[int, ...] = ()
    for column in columns:
        index = column.bar.index
        left, right = _merged(column, "left"), _merged(column, "right")
        starts = left.ending_starts or right.ending_starts
        if starts and active:
            bars[index - 1] = replace(bars[index - 1], ending_stops=True)
        active = starts or active
        if not active:
            continue
        is_closed = right.ending_stops or right.repeats_backward > 0 or right.style is not Barline.REGULAR
        is_closed = is_closed or index == len(bars) - 1
        bars[index] = replace(bars[index], endings=active, ending_stops=is_closed)
        active = () if is_closed else active
