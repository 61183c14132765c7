"""The notes and rests of a voice in MusicXML: what a note is, how it is written, and what stands at its head."""

from collections.abc import Container, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import TypeGuard

from apoyando.engraving.musicxml.brackets import Bracket
from apoyando.engraving.musicxml.clock import Clock
from apoyando.engraving.musicxml.heads import (
    write_harmonic,
    write_pitch,
    write_ties,
    write_time_modification,
    write_value,
)
from apoyando.engraving.musicxml.xmltree import Element, element
from apoyando.engraving.notation.kept import Kept
from apoyando.engraving.notation.layout import Layout
from apoyando.engraving.notation.score import MELODY_VOICE, Event, NoteValue, Silence, Sounding, Tuplet
from apoyando.engraving.notation.voices import BASS_VOICE
from apoyando.model.arrangement import Note, Role
from apoyando.model.hand import GUIDE_FINGER
from apoyando.model.instrument import Place
from apoyando.model.song import Lyric
from apoyando.model.time import Quarters

ACCIDENTAL_NAMES = {
    -3: "triple-flat",
    -2: "flat-flat",
    -1: "flat",
    0: "natural",
    1: "sharp",
    2: "double-sharp",
    3: "triple-sharp",
}
LET_GO = "let go"
"""The hand ends the note, for its finger or its string is needed (``other-technical``)."""
WHOLE = Fraction(4)
_ROLE_OF_VOICE = {MELODY_VOICE: Role.MELODY, BASS_VOICE: Role.BASS}


@dataclass(frozen=True, slots=True)
class Settled:
    """What is settled for the whole piece before its bars are written.

    ``accidentals``: note id -> alteration to print; ``guides``: the notes to which a finger is guided along
    its string; ``kept``: how notes end, where a hold chart shows it, by onset, place and end.
    """

    clock: Clock
    accidentals: Mapping[str, int]
    guides: Container[Note]
    brackets: Sequence[Bracket]
    layout: Layout | None
    kept: Mapping[tuple[Quarters, Place, Quarters], Kept]


@dataclass(frozen=True, slots=True)
class Look:
    """What the notes of one bar share: what is settled, for each event its beam marks, and the voices in
    which several parts are written; ``has_tablature``: a second staff has it.
    """

    settled: Settled
    beams: Mapping[str, tuple[str, ...]]
    mixed: frozenset[int]
    has_tablature: bool

    def ticks(self, onset: Quarters, offset: Quarters) -> int:
        return self.settled.clock.ticks(onset, offset)


def write_event(event: Event, voice: int, look: Look) -> list[Element]:
    if isinstance(event, Silence):
        return [_rest(event, voice, look)]
    return [_note(event, index, voice, look) for index in range(len(event.notes))]


def _rest(event: Silence, voice: int, look: Look) -> Element:
    return element(
        "note",
        element("rest", measure="yes" if event.is_whole_bar else None),
        element("duration", look.ticks(event.onset, event.onset + event.duration)),
        element("voice", voice),
        *([] if event.is_whole_bar else write_value(event.value)),
        write_time_modification(event.tuplet),
        _staff(look),
        _notations(*_tuplet_marks(event.tuplet)),
        id=event.id,
        print_object=None if event.is_shown else "no",
    )


def _note(event: Sounding, index: int, voice: int, look: Look) -> Element:
    note, note_id = event.notes[index], event.note_ids[index]
    is_first, ending = index == 0, _ending(event, note, look)
    return element(
        "note",
        None if is_first else element("chord"),
        write_pitch(note.pitch),
        element("duration", look.ticks(event.onset, event.onset + event.duration)),
        *write_ties("tie", event),
        element("voice", voice),
        *write_value(event.value),
        _accidental(look.settled.accidentals.get(note_id)),
        write_time_modification(event.tuplet),
        _stem(event.value, voice),
        element("notehead", "diamond") if note.is_harmonic else None,
        _staff(look),
        *(_beams(look.beams.get(event.id, ())) if is_first else ()),
        _notations(
            *write_ties("tied", event),
            _open_tie(event, note, ending),
            *(_tuplet_marks(event.tuplet) if is_first else ()),
            _technical(event, note, ending, look),
            _role(event, note, voice, look),
            _fermata(event, note),
            _roll(event, note),
        ),
        *(_lyrics(note.lyrics) if not event.is_tied_from_before else ()),
        id=note_id,
        release=look.ticks(note.offset, ending.until) if _rings(ending) else None,
    )


def _staff(look: Look) -> Element:
    return element("staff", 1) if look.has_tablature else None


def _ending(event: Sounding, note: Note, look: Look) -> Kept | None:
    """How a note ends, at its last head."""
    key = (note.onset, note.place, note.offset)
    return None if event.is_tied_to_next else look.settled.kept.get(key)


def _rings(ending: Kept | None) -> TypeGuard[Kept]:
    return ending is not None and ending.until > ending.note.offset


def _open_tie(event: Sounding, note: Note, ending: Kept | None) -> Element:
    """What may ring on; until when, says ``release`` (MusicXML 4.0, ``note``)."""
    is_last = not event.is_tied_to_next
    return element("tied", type="let-ring") if is_last and (note.lets_ring or _rings(ending)) else None


def _accidental(alter: int | None) -> Element:
    return None if alter is None else element("accidental", ACCIDENTAL_NAMES[alter])


def _stem(value: NoteValue, voice: int) -> Element:
    if value.base >= WHOLE:
        return None
    return element("stem", "up" if voice == MELODY_VOICE else "down")


def _beams(marks: Sequence[str]) -> list[Element]:
    return [element("beam", mark, number=number) for number, mark in enumerate(marks, 1)]


def _notations(*marks: Element) -> Element:
    present = [mark for mark in marks if mark is not None]
    return element("notations", *present) if present else None


def _tuplet_marks(tuplet: Tuplet | None) -> list[Element]:
    if tuplet is None:
        return []
    ends = (("start", tuplet.starts), ("stop", tuplet.stops))
    return [element("tuplet", type=end, number=1) for end, is_here in ends if is_here]


def _technical(event: Sounding, note: Note, ending: Kept | None, look: Look) -> Element:
    """Where it lies, on tied notes too; how it is plucked, and reached, only where it is struck.

    A guide finger is an ``other-technical``, for a ``slide`` would sound.
    """
    is_struck = not event.is_tied_from_before
    is_plucked = note.pluck and is_struck
    return element(
        "technical",
        element("fingering", int(note.finger)),
        element("pluck", note.pluck) if is_plucked else None,
        element("string", note.place.string),
        element("fret", note.place.fret),
        write_harmonic() if note.is_harmonic else None,
        element("other-technical", GUIDE_FINGER) if is_struck and note in look.settled.guides else None,
        element("other-technical", LET_GO) if ending and ending.is_cut else None,
    )


def _role(event: Sounding, note: Note, voice: int, look: Look) -> Element:
    """Which part a note has, where its voice does not say it; not printed (MusicXML 4.0, ``other-notation``)."""
    is_told = voice not in look.mixed and note.role is _ROLE_OF_VOICE.get(voice, Role.INNER)
    is_alone = len(event.notes) == 1 or note.role is not Role.BASS
    if is_told and is_alone:
        return None
    return element("other-notation", note.role, type="single", print_object="no")


def _fermata(event: Sounding, note: Note) -> Element:
    return element("fermata", type="upright") if note.has_fermata and not event.is_tied_to_next else None


def _roll(event: Sounding, note: Note) -> Element:
    """Notes of one number at one moment are one roll, whatever their voice (MusicXML 4.0, ``arpeggiate``)."""
    return element("arpeggiate", number=1) if note.is_rolled and not event.is_tied_from_before else None


def _lyrics(lyrics: Sequence[Lyric]) -> list[Element]:
    return [
        element(
            "lyric",
            element("syllabic", lyric.syllabic),
            element("text", lyric.text),
            element("extend") if lyric.is_held else None,
            number=lyric.verse,
        )
        for lyric in lyrics
    ]
