"""A MusicXML score of any number of parts to a ``Draft`` of all of them, and the lines that they make."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from xml.etree.ElementTree import Element

from apoyando.reading.draft import Draft, DraftNote
from apoyando.reading.lines import TOP_LINE, FullDraft, Line, top_line
from apoyando.reading.musicxml.columns import Column, Parts, align, choose_singer, read_parts
from apoyando.reading.musicxml.heading import read_heading
from apoyando.reading.musicxml.part_names import elements_of, plain_name_of
from apoyando.reading.musicxml.score import draft_columns


def draft_full(root: Element, file_name: str, *, letters_guessed: bool) -> FullDraft:
    """The draft of a partwise score with the notes of all parts. Raises UnreadableSongError."""
    parts = read_parts(root, file_name)
    columns = align(parts, choose_singer)
    names = _tell_names([plain_name_of(root, element) for element in elements_of(root)])
    lines = list(_lines(columns, parts, names))
    notes = tuple(note for line in lines if line.is_whole for note in line.notes)
    draft = draft_columns(columns, notes, read_heading(root, file_name), letters_guessed=letters_guessed)
    return FullDraft(draft, (*lines, *_top_line(draft, lines)))


def _tell_names(names: Sequence[str]) -> list[str]:
    """Each part by a name of its own."""
    called = [name or f"part {place}" for place, name in enumerate(names, 1)]
    return [f"{name} ({place})" if called.count(name) > 1 else name for place, name in enumerate(called, 1)]


def _lines(columns: Sequence[Column], parts: Parts, names: Sequence[str]) -> Iterator[Line]:
    """Each staff of each part, and after it its voices if it has several."""
    for place, name in enumerate(names):
        upper = tuple(_placed(columns, parts, place, is_upper=True))
        lower = tuple(_placed(columns, parts, place, is_upper=False))
        if upper and lower:
            yield from _staff(f"{name}, upper staff", upper)
            yield from _staff(f"{name}, lower staff", lower)
        elif upper or lower:
            yield from _staff(name, upper or lower)


def _staff(name: str, notes: tuple[DraftNote, ...]) -> Iterator[Line]:
    yield Line(name, notes)
    voices = dict.fromkeys(note.voice for note in notes)
    if len(voices) > 1:
        for count, voice in enumerate(voices, 1):
            inside = tuple(note for note in notes if note.voice == voice)
            yield Line(f"{name}, voice {count}", inside, is_whole=False)


def _placed(columns: Sequence[Column], parts: Parts, place: int, *, is_upper: bool) -> Iterator[DraftNote]:
    for column in columns:
        if column.bar.index < len(parts[place]):
            measure = parts[place][column.bar.index]
            for note in measure.notes if is_upper else measure.lower_notes:
                yield replace(column.place(note), voice=f"{place} {note.voice}")


def _top_line(draft: Draft, lines: Sequence[Line]) -> Iterator[Line]:
    if len(lines) > 1:
        yield Line(TOP_LINE, top_line(draft.notes), is_whole=False)
