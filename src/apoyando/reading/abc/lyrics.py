"""Aligned words: w: and s: lines set to notes (ABC 2.1 sections 4.15 and 5)."""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from apoyando.model.song import Lyric
from apoyando.reading.abc.text import read_text

_PIECES = re.compile(
    r"(?P<bar>\|)|(?P<skip>\*)|(?P<hold>_)|(?P<hyphen>-)|(?P<space>\s+)|(?P<word>(?:\\-|[^\s|*_-])+)"
)
_SYMBOLS = re.compile(r'(?P<bar>\|)|(?P<skip>\*)|(?P<symbol>"[^"]*"|![^!\s]+!)|(?P<space>\s+)|(?P<other>.)')
_NUMBERED = re.compile(r"\s*(\d[^\s~|*_-]*)(?:\s+|~)(?=[^\W\d_])")


@dataclass(frozen=True, slots=True)
class Slot:
    """A note that can take a syllable: its place among the notes of the voice, and its bar."""

    note: int
    bar: int


@dataclass(frozen=True, slots=True)
class _Step:
    """One syllable, an empty place for one note, or the step to the next bar."""

    text: str = ""
    goes_on: bool = False
    continues: bool = False
    is_held: bool = False
    to_next_bar: bool = False


def align_words(text: str, slots: Sequence[Slot], verse: int) -> tuple[dict[int, Lyric], int]:
    """Syllables by note, and how many were too many."""
    steps = list(_read_words(text))
    lyrics: dict[int, Lyric] = {}
    for step, slot in _walk(steps, slots):
        if slot is not None and step.text:
            lyrics[slot.note] = Lyric(verse, step.text, _syllabic(step), is_held=step.is_held)
    placed = sum(1 for step, slot in _walk(steps, slots) if slot is not None and step.text)
    return lyrics, sum(1 for step in steps if step.text) - placed


def align_symbols(text: str, slots: Sequence[Slot]) -> Iterator[tuple[str, int]]:
    """Symbols of an s: line (decorations, chord symbols, annotations) by note."""
    steps = [
        _Step(text=found["symbol"] or "", to_next_bar=bool(found["bar"]))
        for found in _SYMBOLS.finditer(text)
        if not found["space"] and not found["other"]
    ]
    for step, slot in _walk(steps, slots):
        if slot is not None and step.text:
            yield step.text, slot.note


def _walk(steps: Sequence[_Step], slots: Sequence[Slot]) -> Iterator[tuple[_Step, Slot | None]]:
    """Each step with its note. A bar sign advances to the next bar unless the words are there already."""
    place = 0
    bar = slots[0].bar if slots else 0
    for step in steps:
        if step.to_next_bar:
            place = next((i for i in range(place, len(slots)) if slots[i].bar > bar), len(slots))
            bar += 1
            continue
        slot = slots[place] if place < len(slots) else None
        bar = slot.bar if slot else bar
        yield step, slot
        place += 1


def _syllabic(step: _Step) -> str:
    if step.continues:
        return "middle" if step.goes_on else "end"
    return "begin" if step.goes_on else "single"


def _read_words(text: str) -> Iterator[_Step]:
    """The steps of a w: line; a hyphen after a syllable joins it to the next, a further one holds it."""
    numbered = _NUMBERED.match(text)
    if numbered:
        text = f"{numbered[1]}~{text[numbered.end() :]}"
    pieces = [(found.lastgroup or "", found[0]) for found in _PIECES.finditer(text)]
    continues = False
    for place, (kind, piece) in enumerate(pieces):
        if kind == "word":
            goes_on = next((kind for kind, _ in pieces[place + 1 :] if kind != "space"), "") == "hyphen"
            yield _Step(
                _plain(piece), goes_on=goes_on, continues=continues, is_held=_is_held(pieces[place + 1 :])
            )
            continues = goes_on
        elif kind == "bar":
            yield _Step(to_next_bar=True)
        elif kind in ("skip", "hold") or (kind == "hyphen" and _holds(pieces, place)):
            yield _Step()
        if kind == "hyphen":
            continues = True


def _is_held(following: Sequence[tuple[str, str]]) -> bool:
    """An underscore after a syllable sings it on over the next note (section 5.1)."""
    return next((kind for kind, _ in following if kind not in {"space", "bar"}), "") == "hold"


def _holds(pieces: Sequence[tuple[str, str]], place: int) -> bool:
    """A hyphen that does not directly follow a syllable is a place of its own (section 5.1)."""
    return place == 0 or pieces[place - 1][0] != "word"


def _plain(piece: str) -> str:
    return read_text(piece.replace("\\-", "-")).replace("~", " ").strip()
