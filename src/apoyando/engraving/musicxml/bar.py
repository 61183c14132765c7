"""One measure of MusicXML: attributes, directions, notes of each voice, barlines."""

from collections.abc import Container, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import TypeGuard

from apoyando.engraving.musicxml.borders import attributes, left_barline, right_barline
from apoyando.engraving.musicxml.brackets import Bracket
from apoyando.engraving.musicxml.clock import Clock
from apoyando.engraving.musicxml.heads import (
    write_harmonic,
    write_pitch,
    write_ties,
    write_time_modification,
    write_value,
)
from apoyando.engraving.musicxml.placed import Placed
from apoyando.engraving.musicxml.tablature import tablature_measure
from apoyando.engraving.musicxml.words import placed_signs
from apoyando.engraving.musicxml.xmltree import Element, element
from apoyando.engraving.notation.kept import Kept
from apoyando.engraving.notation.layout import Layout
from apoyando.engraving.notation.score import (
    MELODY_VOICE,
    Event,
    NotatedBar,
    NotatedScore,
    NoteValue,
    Silence,
    Sounding,
    Tuplet,
)
from apoyando.engraving.notation.voices import BASS_VOICE
from apoyando.model.arrangement import Note, Role
from apoyando.model.hand import GUIDE_FINGER
from apoyando.model.instrument import Place
from apoyando.model.sheet import Staves
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
EIGHTH = Fraction(1, 2)
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
class _Look:
    """What the notes of one bar share: what is settled, for each event its beam marks, and the voices in
    which several parts are written; ``has_tablature``: a second staff has it.
    """

    settled: Settled
    beams: Mapping[str, tuple[str, ...]]
    mixed: frozenset[int]
    has_tablature: bool

    def ticks(self, onset: Quarters, offset: Quarters) -> int:
        return self.settled.clock.ticks(onset, offset)


def measure(score: NotatedScore, index: int, settled: Settled) -> Element:
    """The measure for the bar with this index."""
    notated = score.bars[index]
    has_tablature = score.staves is Staves.NOTATION_AND_TABLATURE
    look = _Look(settled, _beam_marks(notated), _mixed_voices(notated), has_tablature)
    bar = notated.bar
    return element(
        "measure",
        _print(index, settled.layout),
        left_barline(score, index),
        attributes(score, index, settled.clock.divisions),
        *_voices(notated, placed_signs(score, index, settled.brackets), look),
        *(tablature_measure(notated, look.ticks) if has_tablature else ()),
        right_barline(score, index),
        number=bar.number,
        implicit="yes" if bar.is_pickup else None,
    )


def _print(index: int, layout: Layout | None) -> Element:
    """A new system or a new page; and in the first bar that each system has the number of its first bar."""
    if layout is None:
        return None
    if index == 0:
        return element("print", element("measure-numbering", "system"))
    if index in layout.pages:
        return element("print", new_page="yes")
    return element("print", new_system="yes") if index in layout.systems else None


def _voices(notated: NotatedBar, signs: Sequence[Placed], look: _Look) -> list[Element]:
    """Voice 1 with the signs of the bar among its notes, then the others, each after a backup."""
    bar = notated.bar
    backup = look.ticks(bar.onset, bar.offset)
    written: list[Element] = _melody_with_signs(notated, signs, look)
    for voice, events in notated.voices.items():
        if voice != MELODY_VOICE:
            written.append(element("backup", element("duration", backup)))
            written += [note for event in events for note in _event(event, voice, look)]
    return written


def _melody_with_signs(notated: NotatedBar, signs: Sequence[Placed], look: _Look) -> list[Element]:
    written: list[Element] = []
    waiting = list(signs)
    for event in notated.voices[MELODY_VOICE]:
        end = event.onset + event.duration
        while waiting and waiting[0].onset < end:
            written.append(_offset_from(event.onset, waiting.pop(0), look))
        written += _event(event, MELODY_VOICE, look)
    return written + [_offset_from(notated.bar.offset, sign, look) for sign in waiting]


def _offset_from(cursor: Quarters, sign: Placed, look: _Look) -> Element:
    """A sign written where the file stands at ``cursor``, with the way from there to its place."""
    ticks = look.ticks(cursor, sign.onset)
    offset = element("offset", ticks) if ticks else None
    voice = element("voice", sign.voice) if sign.voice else None
    return element(sign.tag, *sign.content, offset, voice, sign.sound, **sign.attributes)


# --- notes ---------------------------------------------------------------------------


def _event(event: Event, voice: int, look: _Look) -> list[Element]:
    if isinstance(event, Silence):
        return [_rest(event, voice, look)]
    return [_note(event, index, voice, look) for index in range(len(event.notes))]


def _rest(event: Silence, voice: int, look: _Look) -> Element:
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


def _note(event: Sounding, index: int, voice: int, look: _Look) -> Element:
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


def _staff(look: _Look) -> Element:
    return element("staff", 1) if look.has_tablature else None


def _ending(event: Sounding, note: Note, look: _Look) -> Kept | None:
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


def _technical(event: Sounding, note: Note, ending: Kept | None, look: _Look) -> Element:
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


def _role(event: Sounding, note: Note, voice: int, look: _Look) -> Element:
    """Which part a note has, where its voice does not say it; not printed (MusicXML 4.0, ``other-notation``)."""
    is_told = voice not in look.mixed and note.role is _ROLE_OF_VOICE.get(voice, Role.INNER)
    is_alone = len(event.notes) == 1 or note.role is not Role.BASS
    if is_told and is_alone:
        return None
    return element("other-notation", note.role, type="single", print_object="no")


def _mixed_voices(notated: NotatedBar) -> frozenset[int]:
    """The voices in which a bar has notes of several parts."""
    roles = {
        voice: {note.role for event in events if isinstance(event, Sounding) for note in event.notes}
        for voice, events in notated.voices.items()
    }
    return frozenset(voice for voice, found in roles.items() if len(found) > 1)


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


# --- beams ---------------------------------------------------------------------------


def _beam_marks(notated: NotatedBar) -> Mapping[str, tuple[str, ...]]:
    """For each event under a beam: begin, continue, end or a hook, beam by beam from the main one."""
    flags = {
        event.id: _flag_count(event.value)
        for line in notated.voices.values()
        for event in line
        if isinstance(event, Sounding)
    }
    return {
        group[index]: tuple(
            _beam_mark(tuple(flags[event] >= level for event in group), index)
            for level in range(1, flags[group[index]] + 1)
        )
        for group in notated.beams
        for index in range(len(group))
    }


def _flag_count(value: NoteValue) -> int:
    """Eighth 1, sixteenth 2 …"""
    return (EIGHTH / value.base).numerator.bit_length() if value.base <= EIGHTH else 0


def _beam_mark(has_beam: tuple[bool, ...], index: int) -> str:
    joins_left = index > 0 and has_beam[index - 1]
    joins_right = index + 1 < len(has_beam) and has_beam[index + 1]
    if joins_left:
        return "continue" if joins_right else "end"
    if joins_right:
        return "begin"
    return "backward hook" if index else "forward hook"
