"""What one voice does in one bar, as a layer of MEI: notes, chords and rests under beams and tuplets."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from xml.sax.saxutils import escape

from apoyando.engraving.drawing.shapes import visible_text
from apoyando.engraving.notation.score import (
    MELODY_VOICE,
    Event,
    NotatedBar,
    NoteValue,
    Silence,
    Sounding,
)
from apoyando.engraving.staff.mei_elements import NONE, XML_ID, element, opened
from apoyando.model.arrangement import Note
from apoyando.model.pitch import Pitch
from apoyando.model.time import Span

WRITTEN_ACCIDENTALS = {-3: "tf", -2: "ff", -1: "f", 0: "n", 1: "s", 2: "x", 3: "ts"}
_JOINTS = {
    "begin": {"con": "d", "wordpos": "i"},
    "middle": {"con": "d", "wordpos": "m"},
    "end": {"wordpos": "t"},
}
"""MEI's words for where in a word a syllable stands."""
BOTTOM_LINE = Pitch.of("E", 0, 3)
"""What the lowest line of the staff sounds, under the octave clef."""
MIDDLE_LINE = 4
FLAGGED_STEM = 7.75
"""In staff steps: a flag that hangs down by less touches its own head, as this music font has it."""
REST_CLEARANCE = 5
"""A rest's middle lies at least so many staff steps above the heads beneath it."""

Head = tuple[Sounding, Note, str, int]
"""The event of a written head, its note, its id and its voice."""


@dataclass(frozen=True, slots=True)
class _Group:
    """Events from ``first`` to ``last`` under one element: a beam or a tuplet."""

    first: int
    last: int
    name: str
    attributes: Mapping[str, str]


def write_layer(notated: NotatedBar, voice: int, accidentals: Mapping[str, int]) -> str:
    events = notated.voices[voice]
    groups = _nested([*_tuplets(events, voice, notated.beams), *_beams(events, notated.beams)])
    written: list[str] = []
    for position, event in enumerate(events):
        written += [opened(group.name, group.attributes) for group in groups if group.first == position]
        if isinstance(event, Silence):
            written.append(_silence(event, notated))
        else:
            is_beamed = any(g.name == "beam" and g.first <= position <= g.last for g in groups)
            written.append(_sounding(event, voice, accidentals, is_beamed=is_beamed))
        written += [f"</{group.name}>" for group in reversed(groups) if group.last == position]
    return element("layer", {"n": str(voice)}, "".join(written))


def _nested(groups: list[_Group]) -> list[_Group]:
    """The groups that lie wholly inside or outside each other, outer ones first.

    A beam across the edge of a tuplet has no place in the tree and is left out.
    """
    kept: list[_Group] = []
    for group in sorted(groups, key=lambda g: (g.name == "beam", g.first)):
        if not any(_cross(group, other) for other in kept):
            kept.append(group)
    return sorted(kept, key=lambda g: (g.first, -g.last, g.name == "beam"))


def _cross(one: _Group, other: _Group) -> bool:
    first, second = sorted((one, other), key=lambda g: (g.first, -g.last))
    return first.first < second.first <= first.last < second.last


def _beams(events: tuple[Event, ...], beams: tuple[tuple[str, ...], ...]) -> Iterator[_Group]:
    position = {event.id: index for index, event in enumerate(events)}
    for beam in beams:
        if beam[0] in position:
            yield _Group(position[beam[0]], position[beam[-1]], "beam", {})


def _tuplets(events: tuple[Event, ...], voice: int, beams: tuple[tuple[str, ...], ...]) -> Iterator[_Group]:
    first = 0
    for position, event in enumerate(events):
        if event.tuplet and event.tuplet.starts:
            first = position
        if event.tuplet and event.tuplet.stops:
            yield _tuplet(events, first, position, voice, beams)


def _tuplet(
    events: tuple[Event, ...], first: int, last: int, voice: int, beams: tuple[tuple[str, ...], ...]
) -> _Group:
    inside = events[first : last + 1]
    tuplet = inside[0].tuplet
    is_seen = any(not isinstance(event, Silence) or event.is_shown for event in inside)
    has_beam = tuple(event.id for event in inside) in beams
    place = "above" if voice == MELODY_VOICE else "below"
    attributes = {
        "num": str(tuplet.actual if tuplet else 1),
        "numbase": str(tuplet.normal if tuplet else 1),
        "num.place": place,
        "bracket.place": place,
        "num.visible": _yes(is_seen),
        "bracket.visible": _yes(is_seen and not has_beam),
    }
    return _Group(first, last, "tuplet", attributes)


def _yes(is_true: bool) -> str:
    return "true" if is_true else "false"


def _sounding(event: Sounding, voice: int, accidentals: Mapping[str, int], *, is_beamed: bool) -> str:
    length = _value(event.value) | {"stem.dir": "up" if voice == MELODY_VOICE else "down"}
    if voice != MELODY_VOICE and not is_beamed and event.value.base < 1:
        length["stem.len"] = f"{_flagged_stem(event):g}"
    if len(event.notes) == 1:
        head = _head_attributes(event.notes[0], event.note_ids[0], accidentals, length)
        return element("note", head, _lyrics(event, event.notes[0]))
    heads = (
        element("note", _head_attributes(note, note_id, accidentals, {})) + _lyrics(event, note)
        for note, note_id in zip(event.notes, event.note_ids, strict=True)
    )
    return element("chord", {XML_ID: event.id, **length}, "".join(heads))


def _head_attributes(
    note: Note, note_id: str, accidentals: Mapping[str, int], length: Mapping[str, str]
) -> dict[str, str]:
    shape = {"head.shape": "diamond"} if note.is_harmonic else {}
    return {XML_ID: note_id, **_pitch(note.pitch, accidentals.get(note_id)), **length, **shape}


def _lyrics(event: Sounding, note: Note) -> str:
    """Hyphens take their room too."""
    if event.is_tied_from_before:
        return ""
    syllables = (
        (lyric.verse, element("syl", _JOINTS.get(lyric.syllabic, NONE), escape(visible_text(lyric.text))))
        for lyric in note.lyrics
    )
    return "".join(element("verse", {"n": str(verse)}, syllable) for verse, syllable in syllables)


def _flagged_stem(event: Sounding) -> float:
    """Staff steps from the lowest head down to the end of a stem with a flag; to the middle line at least."""
    height = event.notes[0].pitch.staff_height - BOTTOM_LINE.staff_height
    return max(FLAGGED_STEM, height - MIDDLE_LINE)


def _silence(silence: Silence, notated: NotatedBar) -> str:
    if not silence.is_shown:
        return element("space", {XML_ID: silence.id, **_value(silence.value)})
    height = {"loc": str(_rest_height(silence, notated))}
    if silence.is_whole_bar:
        return element("mRest", {XML_ID: silence.id, **height})
    return element("rest", {XML_ID: silence.id, **_value(silence.value), **height})


def _rest_height(silence: Silence, notated: NotatedBar) -> int:
    """Staff steps above the bottom line: the middle line, or over the heads struck meanwhile."""
    meanwhile = Span(silence.onset, silence.onset + silence.duration)
    heights = (
        note.pitch.staff_height - BOTTOM_LINE.staff_height
        for event, note, _, _ in list_heads(notated)
        if meanwhile.contains(event.onset)
    )
    clear = max(heights, default=-REST_CLEARANCE) + REST_CLEARANCE
    return max(MIDDLE_LINE, clear + clear % 2)


def _value(value: NoteValue) -> dict[str, str]:
    """The part of a whole note that a plain sign is; none is left for a breve."""
    parts = 4 * value.base.denominator // value.base.numerator
    return {"dur": str(parts) if parts else "breve"} | ({"dots": str(value.dots)} if value.dots else {})


def _pitch(pitch: Pitch, printed: int | None) -> dict[str, str]:
    attributes = {"pname": pitch.name.step.lower(), "oct": str(pitch.octave)}
    return attributes | ({} if printed is None else {"accid": WRITTEN_ACCIDENTALS.get(printed, "n")})


def list_heads(bar: NotatedBar) -> list[Head]:
    """Every written head of a bar, voice by voice, in order of time."""
    return [
        (event, note, note_id, voice)
        for voice, events in sorted(bar.voices.items())
        for event in events
        if isinstance(event, Sounding)
        for note, note_id in zip(event.notes, event.note_ids, strict=True)
    ]
