"""One measure of MusicXML: attributes, directions, notes of each voice, barlines."""

from collections.abc import Mapping, Sequence
from fractions import Fraction

from apoyando.engraving.musicxml.borders import attributes, left_barline, right_barline
from apoyando.engraving.musicxml.notes import Look, Settled, write_event
from apoyando.engraving.musicxml.placed import Placed
from apoyando.engraving.musicxml.tablature import tablature_measure
from apoyando.engraving.musicxml.words import placed_signs
from apoyando.engraving.musicxml.xmltree import Element, element
from apoyando.engraving.notation.layout import Layout
from apoyando.engraving.notation.score import MELODY_VOICE, NotatedBar, NotatedScore, NoteValue, Sounding
from apoyando.model.sheet import Staves
from apoyando.model.time import Quarters

EIGHTH = Fraction(1, 2)


def measure(score: NotatedScore, index: int, settled: Settled) -> Element:
    """The measure for the bar with this index."""
    notated = score.bars[index]
    has_tablature = score.staves is Staves.NOTATION_AND_TABLATURE
    look = Look(settled, _beam_marks(notated), _mixed_voices(notated), has_tablature)
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
        implicit="yes" if bar.is_pickup or _goes_on(score, index) else None,
    )


def _goes_on(score: NotatedScore, index: int) -> bool:
    """Whether the bar is the last half of one that a repeat divides.

    Then its number is not to appear (MusicXML 4.0, measure, implicit).
    """
    if index == 0 or score.bars[index - 1].bar.is_pickup:
        return False
    lengths = [score.bars[at].bar.duration for at in (index - 1, index)]
    full = score.bars[index].bar.meter.bar_length
    return max(lengths) < full == sum(lengths)


def _print(index: int, layout: Layout | None) -> Element:
    """A new system or a new page; and in the first bar that each system has the number of its first bar."""
    if layout is None:
        return None
    if index == 0:
        return element("print", element("measure-numbering", "system"))
    if index in layout.pages:
        return element("print", new_page="yes")
    return element("print", new_system="yes") if index in layout.systems else None


def _voices(notated: NotatedBar, signs: Sequence[Placed], look: Look) -> list[Element]:
    """Voice 1 with the signs of the bar among its notes, then the others, each after a backup."""
    bar = notated.bar
    backup = look.ticks(bar.onset, bar.offset)
    written: list[Element] = _melody_with_signs(notated, signs, look)
    for voice, events in notated.voices.items():
        if voice != MELODY_VOICE:
            written.append(element("backup", element("duration", backup)))
            written += [note for event in events for note in write_event(event, voice, look)]
    return written


def _melody_with_signs(notated: NotatedBar, signs: Sequence[Placed], look: Look) -> list[Element]:
    written: list[Element] = []
    waiting = list(signs)
    for event in notated.voices[MELODY_VOICE]:
        end = event.onset + event.duration
        while waiting and waiting[0].onset < end:
            written.append(_offset_from(event.onset, waiting.pop(0), look))
        written += write_event(event, MELODY_VOICE, look)
    return written + [_offset_from(notated.bar.offset, sign, look) for sign in waiting]


def _offset_from(cursor: Quarters, sign: Placed, look: Look) -> Element:
    """A sign written where the file stands at ``cursor``, with the way from there to its place."""
    ticks = look.ticks(cursor, sign.onset)
    offset = element("offset", ticks) if ticks else None
    voice = element("voice", sign.voice) if sign.voice else None
    return element(sign.tag, *sign.content, offset, voice, sign.sound, **sign.attributes)


def _mixed_voices(notated: NotatedBar) -> frozenset[int]:
    """The voices in which a bar has notes of several parts."""
    roles = {
        voice: {note.role for event in events if isinstance(event, Sounding) for note in event.notes}
        for voice, events in notated.voices.items()
    }
    return frozenset(voice for voice, found in roles.items() if len(found) > 1)


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
