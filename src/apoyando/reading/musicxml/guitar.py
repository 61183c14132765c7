"""A MusicXML score for guitar to a ``Draft`` of all its voices, with the fingering that is written in it.

Which parts are the guitar's: the only part; else the parts that call themselves a guitar,
have its sound, or name strings; else all of them are taken as voices of one guitar.
Tablature that goes along with notation is no music of its own: it tells the places of the
notes above it.

Source: W3C MusicXML 4.0, elements score-part, staff-details, scordatura.
"""

import re
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from xml.etree.ElementTree import Element

from apoyando.model.instrument import STANDARD_TUNING, STRINGS, TUNINGS, StringNumber, Tuning
from apoyando.model.pitch import Interval, MidiNote, Pitch
from apoyando.model.score import NOTHING_GIVEN, Given
from apoyando.model.song import ReadingRemark
from apoyando.model.time import Quarters
from apoyando.reading.draft import Draft, DraftNote
from apoyando.reading.musicxml.columns import Column, Parts, align, choose_singer, read_parts
from apoyando.reading.musicxml.harmonies import read_name
from apoyando.reading.musicxml.heading import read_heading
from apoyando.reading.musicxml.marks import read_barres, read_dynamics, read_hold_lines, remark_on_marks
from apoyando.reading.musicxml.measures import Measure
from apoyando.reading.musicxml.part_names import elements_of, listing_of, name_of, names_in
from apoyando.reading.musicxml.score import draft_columns
from apoyando.reading.musicxml.technical import says_guides, supports, without_guide
from apoyando.reading.musicxml.values import read_whole, text_of

_GUITAR_NAME = re.compile(r"gu?it|chitarr|viol[aã]o|kitar|gtr", re.IGNORECASE)
_GUITAR_PROGRAMS = ("25", "26")
"""Acoustic guitars of the General MIDI sound set; MusicXML counts its programs from 1."""
_HIGHEST_CAPO = 12


@dataclass(frozen=True, slots=True)
class _Guitar:
    """Which parts are the guitar's, by their places among the parts, and how that was known."""

    places: tuple[int, ...]
    remarks: tuple[str, ...] = ()


def draft_guitar(root: Element, file_name: str, *, letters_guessed: bool) -> Draft:
    """The draft of a partwise score for guitar. Raises UnreadableSongError with every wrong place."""
    parts = read_parts(root, file_name)
    guitar = _find_guitar(root, parts)
    columns = align(parts, lambda among: (guitar.places[0], choose_singer(among)[1]))
    notes = _settle_guides(root, tuple(_gather_notes(columns, parts, guitar)))
    heading = read_heading(root, file_name)
    draft = draft_columns(columns, notes, heading, letters_guessed=letters_guessed, keeps_dynamics=True)
    element = elements_of(root)[guitar.places[0]]
    tuning, tuning_remarks = _read_tuning(element)
    remarks = (*guitar.remarks, *tuning_remarks)
    capo = _read_capo(element)
    settled = replace(
        draft,
        dynamics=read_dynamics(columns),
        barres=read_barres(columns),
        names_barres=supports(root, "bracket"),
        hold_lines=read_hold_lines(columns),
        tuning=tuning,
        capo=capo,
        has_tablature=any(note.is_tablature for note in _placed_notes(columns, parts, guitar)),
        arranger=heading.arranger,
        is_arranged=heading.is_arranged,
        remarks=(
            *(ReadingRemark("", text) for text in remarks),
            *draft.remarks,
            *remark_on_marks(columns),
            *_remarks_of_further_parts(columns, parts, guitar),
        ),
    )
    return _without_capo(settled, parts[guitar.places[0]][0].setting.transposition)


# --- which parts ---------------------------------------------------------------------


def _find_guitar(root: Element, parts: Parts) -> _Guitar:
    sounding = [place for place, part in enumerate(parts) if any(_notes_of(part))]
    if len(sounding) < 2:  # noqa: PLR2004 - one part needs no choice
        return _Guitar(tuple(sounding) or (0,))
    names = [name_of(root, element) for element in elements_of(root)]
    guitars = [place for place in sounding if _is_guitar(root, elements_of(root)[place])]
    if not guitars:
        listed = ", ".join(names[place] for place in sounding)
        return _Guitar(
            tuple(sounding), (f"No part is called a guitar: all are read as voices of one ({listed}).",)
        )
    return _one_guitar(parts, guitars, sounding, names)


def _one_guitar(parts: Parts, guitars: list[int], sounding: list[int], names: list[str]) -> _Guitar:
    """The first guitar with notes on a staff, and the tablature that goes along with it."""
    first = next((place for place in guitars if not _is_tablature(parts[place])), guitars[0])
    twins = [place for place in guitars if place != first and _is_tablature(parts[place])][:1]
    others = [names[place] for place in sounding if place not in (first, *twins)]
    remark = f"The part {names[first]} is read; left out: {', '.join(others)}."
    return _Guitar((first, *twins), (remark,) if others else ())


def _is_guitar(root: Element, part: Element) -> bool:
    listed = listing_of(root, part)
    program = text_of(listed, "midi-instrument/midi-program") if listed is not None else ""
    names_strings = part.find("measure/note/notations/technical/string") is not None
    is_called = any(_GUITAR_NAME.search(name) for name in names_in(listed))
    return is_called or names_strings or program in _GUITAR_PROGRAMS


def _notes_of(part: Sequence[Measure]) -> Iterator[DraftNote]:
    for measure in part:
        yield from (*measure.notes, *measure.lower_notes)


def _is_tablature(part: Sequence[Measure]) -> bool:
    return all(note.is_tablature for note in _notes_of(part))


# --- notes ---------------------------------------------------------------------------


def _gather_notes(columns: Sequence[Column], parts: Parts, guitar: _Guitar) -> Iterator[DraftNote]:
    """The notes of all voices, each with what the tablature says of it besides."""
    placed = list(_placed_notes(columns, parts, guitar))
    written = [note for note in placed if not note.is_tablature]
    if not written:
        yield from placed
        return
    places = _Tablature(note for note in placed if note.is_tablature)
    for note in written:
        yield replace(note, given=_joined(note.given, places.take(note)))


def _settle_guides(root: Element, notes: tuple[DraftNote, ...]) -> tuple[DraftNote, ...]:
    """Where the file says which fingers are guides, the others are none."""
    return tuple(map(without_guide, notes)) if says_guides(root, notes) else notes


def _placed_notes(columns: Sequence[Column], parts: Parts, guitar: _Guitar) -> Iterator[DraftNote]:
    for column, place, measure in _measures(columns, parts, guitar):
        for note in (*measure.notes, *measure.lower_notes):
            yield replace(column.place(note), voice=f"{place} {note.voice}")


def _measures(
    columns: Sequence[Column], parts: Parts, guitar: _Guitar
) -> Iterator[tuple[Column, int, Measure]]:
    for column in columns:
        for place in guitar.places:
            if column.bar.index < len(parts[place]):
                yield column, place, parts[place][column.bar.index]


class _Tablature:
    """The places that tablature gives, by moment and pitch; an octave apart will do if nothing is nearer."""

    def __init__(self, notes: Iterable[DraftNote]) -> None:
        self._at: defaultdict[Quarters, list[DraftNote]] = defaultdict(list)
        for note in notes:
            self._at[note.onset].append(note)

    def take(self, note: DraftNote) -> Given:
        """What is said of a note; each place is taken once."""
        there = self._at.get(note.onset, [])
        distances = [abs(one.pitch.midi - note.pitch.midi) for one in there]
        near = min((d for d in distances if d in (0, 12)), default=None)
        return there.pop(distances.index(near)).given if near is not None else NOTHING_GIVEN


def _joined(given: Given, besides: Given) -> Given:
    """What a note says itself counts before what tablature says."""
    return Given(
        string=besides.string if given.string is None else given.string,
        fret=besides.fret if given.fret is None else given.fret,
        finger=besides.finger if given.finger is None else given.finger,
        pluck=given.pluck or besides.pluck,
        is_guided=besides.is_guided if given.is_guided is None else given.is_guided,
    )


def _remarks_of_further_parts(
    columns: Sequence[Column], parts: Parts, guitar: _Guitar
) -> Iterator[ReadingRemark]:
    for column, place, measure in _measures(columns, parts, guitar):
        if place != guitar.places[0]:
            yield from (ReadingRemark(column.bar.number, text) for text in measure.remarks)


# --- tuning and capo -----------------------------------------------------------------


def _read_tuning(part: Element) -> tuple[Tuning | None, tuple[str, ...]]:
    """The tuning that is written, if any is, and a remark if it is one that is not known."""
    strings = {**_staff_tunings(part), **_accords(part)}
    if not strings:
        return None, ()
    notes = tuple(
        strings.get(string, note) for string, note in zip(STRINGS, STANDARD_TUNING.open_strings, strict=True)
    )
    known = next((tuning for tuning in TUNINGS.values() if tuning.open_strings == notes), None)
    remark = f"The tuning that is written is not known; known are: {', '.join(TUNINGS)}."
    return known, () if known else (remark,)


def _staff_tunings(part: Element) -> dict[StringNumber, MidiNote]:
    """Lines of tablature are counted from the bottom, strings from the top."""
    found: dict[StringNumber, MidiNote] = {}
    for element in part.iterfind("measure/attributes/staff-details/staff-tuning"):
        _add_string(found, element, len(STRINGS) + 1 - (read_whole(element.get("line")) or 0))
    return found


def _accords(part: Element) -> dict[StringNumber, MidiNote]:
    found: dict[StringNumber, MidiNote] = {}
    for element in part.iterfind("measure/direction/direction-type/scordatura/accord"):
        _add_string(found, element, read_whole(element.get("string")) or 0)
    return found


def _add_string(found: dict[StringNumber, MidiNote], element: Element, string: int) -> None:
    name, octave = read_name(element, "tuning-"), read_whole(text_of(element, "tuning-octave"))
    if string in STRINGS and name and octave is not None and octave in range(10):
        found.setdefault(StringNumber(string), Pitch(name, octave).midi)


def _read_capo(part: Element) -> int:
    element = part.find("measure/attributes/staff-details/capo")
    capo = read_whole(element.text) if element is not None else None
    return capo if capo is not None and 0 <= capo <= _HIGHEST_CAPO else 0


def _without_capo(draft: Draft, transposition: Interval) -> Draft:
    """The draft as it is fingered: what the part transposes for its capo is taken back."""
    if not draft.capo or transposition.semitones % 12 != draft.capo:
        return draft
    back = Interval(-transposition.fifths, -draft.capo)
    return replace(
        draft,
        bars=tuple(replace(bar, key=bar.key.transposed(back.fifths)) for bar in draft.bars),
        notes=tuple(replace(note, pitch=note.pitch.transposed(back)) for note in draft.notes),
        chords=tuple(
            replace(chord, chord=chord.chord.transposed(back.fifths) if chord.chord else None)
            for chord in draft.chords
        ),
    )
