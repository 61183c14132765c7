"""The lines of a full score, one of which is the melody.

A line is what one part, staff or voice has to play. Which of them is sung: one that is
called voice, melody or the like; else one that has words; else all. Of these the one that
lies highest, sounds most of the time and plays one note at a time (common practice, no
source).
"""

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from itertools import groupby, pairwise

from apoyando.model.errors import UsageError
from apoyando.model.song import MelodySource
from apoyando.model.time import Quarters
from apoyando.reading.draft import Draft, DraftNote

_SUNG = re.compile(
    r"\b(?:melod\w*|melodie|tune|lead|voice|voix|voce|voz|vocals?|vox|sing\w*|song|sopran\w*|"
    r"stimme|gesang|chant|canto|cantus|solo|air)\b",
    re.IGNORECASE,
)
_BACKING = re.compile(r"\b(?:back\w*|choir|chorus|harmony|accomp\w*|alto?|tenor\w*|bass\w*)\b", re.IGNORECASE)
SILENCE_SEMITONES = 18
"""So many semitones lower is a line as good that never rests as one that always does."""
STACK_SEMITONES = 9
"""... and one that always strikes single notes as one that always strikes several."""
TOP_LINE = "top line"
"""The highest note of all parts at each moment, for music whose tune wanders."""


@dataclass(frozen=True, slots=True)
class Line:
    """``is_whole``: it is all that a part or a staff has, not one voice of it. Law: it has notes."""

    name: str
    notes: tuple[DraftNote, ...]
    is_whole: bool = True


@dataclass(frozen=True, slots=True)
class FullDraft:
    """A draft with the notes of all parts, and the lines that they make."""

    draft: Draft
    lines: tuple[Line, ...]


@dataclass(frozen=True, slots=True)
class ChosenLine:
    line: Line
    source: MelodySource


def choose_line(lines: Sequence[Line], wanted: str, duration: Quarters) -> ChosenLine:
    """The melody among the lines: the one that the player wants, else the likeliest.

    ``wanted`` is a name or a number counted from 1, "" to choose. Raises UsageError where
    there is no such line.
    """
    names = tuple(line.name for line in lines)
    among, reason = _likely(lines)
    likeliest = max(among, key=lambda each: (_song_likeness(each, duration), -names.index(each.name)))
    line = _find(lines, wanted) if wanted else likeliest
    why = reason if line is likeliest else "as you chose"
    return ChosenLine(line, MelodySource(name=line.name, reason=why, choices=names))


def _find(lines: Sequence[Line], wanted: str) -> Line:
    for place, line in enumerate(lines, 1):
        if wanted.strip().casefold() in {line.name.casefold(), str(place)}:
            return line
    listed = ", ".join(f"{place} ({line.name})" for place, line in enumerate(lines, 1))
    raise UsageError(f'part = "{wanted}": there is no such part. The parts are: {listed}.')


def _likely(lines: Sequence[Line]) -> tuple[list[Line], str]:
    """The lines that may be the melody, and why it is one of them."""
    whole = [line for line in lines if line.is_whole]
    rules: tuple[tuple[Callable[[Line], bool], str], ...] = (
        (_is_called_sung, "by its name"),
        (_has_words, "it has the words"),
        (
            lambda line: line.name != TOP_LINE,
            "it lies highest and plays on" if len(whole) > 1 else "it is the only one",
        ),
    )
    for rule, reason in rules:
        found = [line for line in whole if rule(line)]
        if found:
            return found, reason
    return list(lines), "it is the only one"


def _is_called_sung(line: Line) -> bool:
    return is_called_sung(line.name) and line.name != TOP_LINE


def is_called_sung(name: str) -> bool:
    """Whether a part of this name has the tune: a voice, a melody, a lead, and no choir behind it."""
    return bool(_SUNG.search(name)) and not is_called_backing(name)


def is_called_backing(name: str) -> bool:
    return bool(_BACKING.search(name))


def _has_words(line: Line) -> bool:
    return line.name != TOP_LINE and any(note.lyrics for note in line.notes)


def _song_likeness(line: Line, duration: Quarters) -> float:
    """The mean height in semitones, less what its rests and its chords take away."""
    chords = [
        list(group) for _, group in groupby(sorted(line.notes, key=_order), key=lambda note: note.onset)
    ]
    tops = [chord[0] for chord in chords]
    sounding = float(sum((note.duration for note in tops), Quarters(0)))
    height = float(sum((note.pitch.midi * note.duration for note in tops), Quarters(0))) / sounding
    silence = 1 - min(1.0, sounding / float(duration))
    stacked = sum(len(chord) > 1 for chord in chords) / len(chords)
    return height - SILENCE_SEMITONES * silence - STACK_SEMITONES * stacked


def _order(note: DraftNote) -> tuple[Quarters, int]:
    return note.onset, -note.pitch.midi


def top_line(notes: Sequence[DraftNote]) -> tuple[DraftNote, ...]:
    """The highest note struck at each moment, but where a higher one is still held.

    A note that overlaps the next by no more than half of it was meant to lead into it.
    """
    line: list[DraftNote] = []
    for _, group in groupby(sorted(notes, key=_order), key=lambda note: note.onset):
        note = next(group)
        if line and _covers(line[-1], note):
            continue
        line.append(note)
    cut = (_cut_at(note, after.onset) for note, after in pairwise(line))
    return (*cut, *line[-1:])


def _covers(before: DraftNote, note: DraftNote) -> bool:
    return before.pitch.midi > note.pitch.midi and before.offset - note.onset > note.duration / 2


def _cut_at(note: DraftNote, moment: Quarters) -> DraftNote:
    return replace(note, duration=min(note.duration, moment - note.onset))
