"""The tablature under notation: a second staff with a number for every head, and no rhythm of its own.

Each voice of the notation has one on the second staff. What is silent takes its time unwritten.
"""

from collections.abc import Callable, Iterator

from apoyando.engraving.musicxml.borders import TABLATURE_STAFF
from apoyando.engraving.musicxml.heads import (
    write_harmonic,
    write_pitch,
    write_ties,
    write_time_modification,
    write_value,
)
from apoyando.engraving.musicxml.xmltree import Element, element
from apoyando.engraving.notation.score import NotatedBar, Sounding
from apoyando.model.time import Quarters

VOICES_ABOVE = 20
"""More than a guitar has in notation: voice 1 is voice 21 in tablature."""

Ticks = Callable[[Quarters, Quarters], int]
"""From one moment to another."""


def tablature_measure(notated: NotatedBar, ticks: Ticks) -> Iterator[Element]:
    """What follows the notes of the notation in a bar."""
    bar = notated.bar
    for voice, events in notated.voices.items():
        yield element("backup", element("duration", ticks(bar.onset, bar.offset)))
        for event in events:
            duration = element("duration", ticks(event.onset, event.onset + event.duration))
            if isinstance(event, Sounding):
                for index in range(len(event.notes)):
                    yield _number(event, index, duration.text, VOICES_ABOVE + voice)
            else:
                staff = element("staff", TABLATURE_STAFF)
                yield element("forward", duration, element("voice", VOICES_ABOVE + voice), staff)


def _number(event: Sounding, index: int, duration: str, voice: int) -> Element:
    note = event.notes[index]
    return element(
        "note",
        element("chord") if index else None,
        write_pitch(note.pitch),
        element("duration", duration),
        *write_ties("tie", event),
        element("voice", voice),
        *write_value(event.value),
        write_time_modification(event.tuplet),
        element("stem", "none"),
        element("staff", TABLATURE_STAFF),
        element(
            "notations",
            *write_ties("tied", event),
            element(
                "technical",
                element("string", note.place.string),
                element("fret", note.place.fret),
                write_harmonic() if note.is_harmonic else None,
            ),
        ),
    )
