"""A whole MusicXML score to a ``Draft``: its notes, chords, form and tempo.

``read_parts`` (``columns``) and ``draft_columns`` are the two halves, for those who choose the parts otherwise.
"""

import re
from collections.abc import Iterator, Sequence
from dataclasses import replace
from fractions import Fraction
from xml.etree.ElementTree import Element

from apoyando.model.bar_names import list_bars
from apoyando.model.song import ReadingRemark
from apoyando.model.time import Quarters
from apoyando.reading.chord_symbols import read_chord_symbol
from apoyando.reading.draft import Draft, DraftChord, DraftNote, tell_odd_tempo
from apoyando.reading.expression import tell_expression
from apoyando.reading.musicxml.columns import Column, align, choose_voice, read_parts
from apoyando.reading.musicxml.form import read_form
from apoyando.reading.musicxml.heading import Heading, read_heading
from apoyando.reading.musicxml.part_names import elements_of, name_of, plain_name_of


def draft_score(root: Element, file_name: str, *, letters_guessed: bool) -> Draft:
    """The draft of a partwise score. Raises UnreadableSongError with every place that is wrong."""
    parts, elements = read_parts(root, file_name), elements_of(root)
    names = [plain_name_of(root, element) for element in elements]
    singer, namer = choose_voice(parts, names)
    columns = align(parts, lambda _: (singer, namer))
    notes = tuple(_gather_notes(columns))
    draft = draft_columns(columns, notes, read_heading(root, file_name), letters_guessed=letters_guessed)
    if singer == namer:
        return draft
    sung, named = (name_of(root, elements[place]) for place in (singer, namer))
    text = f"The melody is that of the part {sung}, the chord symbols are those of {named}: name another {_PART}."
    apart = ReadingRemark("", text)
    return replace(draft, remarks=(apart, *draft.remarks))


_PART = "as part in the plan if it has the tune"


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
        bars=read_form(columns),
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
        for moment, direction in column.directions:
            for text in direction.words:
                found.setdefault((column.bar.index, moment, text), (column, moment, text))
    return list(found.values())


def _are_sections(letters: Sequence[str]) -> bool:
    """Single letters above the staff are sections if they begin with A and count on; else chords."""
    return letters[:1] == ["A"] and list(letters) == sorted(set(letters)) and len(letters) > 1


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
    marked = [(column, direction) for column in columns for _, direction in column.directions]
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
