"""Lines of words and of symbols set to the music before them (ABC 2.1 sections 4.15 and 5)."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from apoyando.reading.abc.lyrics import Slot, align_symbols, align_words
from apoyando.reading.abc.signs import take_decoration, take_string
from apoyando.reading.abc.tokens import Token
from apoyando.reading.abc.tunebook import Line
from apoyando.reading.abc.walk import (
    Walk,
    add_mark,
)


@dataclass(slots=True)
class SetWords:
    """Which events the next w: or s: line is for; events are counted from the voice's start."""

    is_joined: bool = False
    line_start: int = 0
    set_until: int = 0
    heard: int = 0
    verse: int = 0


def start_line(words: SetWords, event: int, *, is_joined: bool) -> None:
    """A line of music begins; after a backslash it goes on."""
    words.set_until = max(words.set_until, words.heard)
    words.verse = 0
    if not words.is_joined:
        words.line_start = event
    words.is_joined = is_joined


def align(walk: Walk, words: SetWords, line: Line, *, is_strict: bool) -> None:
    """Set words to the notes since the last words (2.1), or to the line of music before them (2.0)."""
    start = words.set_until if is_strict else words.line_start
    slots = _slots(walk, start)
    token = Token("field", "", line.number, 1)
    if line.field == "s":
        _set_symbols(walk, line.text, slots, token)
        return
    words.verse += 1
    words.heard = len(walk.events)
    lyrics, excess = align_words(line.text.rstrip("\\ "), slots, words.verse)
    for place, lyric in lyrics.items():
        walk.notes[place] = replace(walk.notes[place], lyrics=(*walk.notes[place].lyrics, lyric))
    if excess:
        walk.remark(f"The words have {excess} more syllables than there are notes", token)


def _slots(walk: Walk, start: int) -> list[Slot]:
    """The notes from an event on that can take a syllable: the first of each group, no rests."""
    firsts = [event.first_note for event in walk.events[start:]]
    return [
        Slot(first, walk.note_bars[first])
        for first, end in pairwise((*firsts, len(walk.notes)))
        if first < end
    ]


def _set_symbols(walk: Walk, text: str, slots: Sequence[Slot], token: Token) -> None:
    now, marks = walk.time, walk.marks
    for symbol, place in align_symbols(text, slots):
        walk.time, walk.marks = walk.notes[place].onset, []
        reader = take_string if symbol.startswith('"') else take_decoration
        reader(walk, replace(token, text=symbol))
        if walk.has_fermata:
            walk.notes[place] = replace(walk.notes[place], has_fermata=True)
            walk.has_fermata = False
        marks = [*marks, *(mark for mark in walk.marks if not add_mark(walk, walk.note_bars[place], mark))]
    walk.time, walk.marks = now, marks
