"""Chord diagrams in MusicXML 4.0: the ``frame`` of a chord symbol."""

from apoyando.engraving.drawing.chord_diagrams import drawn_frets
from apoyando.engraving.musicxml.xmltree import Element, element
from apoyando.model.hand import Finger
from apoyando.model.hand_shape import HandShape, Stop
from apoyando.model.instrument import STRINGS


def frame(shape: HandShape) -> Element:
    """The shape as its diagram is drawn. Strings that do not sound have no note."""
    frets = drawn_frets(shape)
    return element(
        "frame",
        element("frame-strings", len(STRINGS)),
        element("frame-frets", len(frets)),
        element("first-fret", frets.start) if frets.start > 1 else None,
        *(_note(stop, shape) for stop in reversed(shape.stops)),
    )


def _note(stop: Stop, shape: HandShape) -> Element:
    return element(
        "frame-note",
        element("string", stop.place.string),
        element("fret", stop.place.fret),
        element("fingering", int(stop.finger)) if stop.finger is not Finger.OPEN else None,
        *(element("barre", type=end) for end in _barre_ends(stop, shape)),
    )


def _barre_ends(stop: Stop, shape: HandShape) -> list[str]:
    """Where a barre begins and ends among the strings that sound, from the lowest-pitched one."""
    flat = [
        other.place.string
        for barre in shape.barres
        for other in shape.stops
        if (other.finger, other.place.fret) == (barre.finger, barre.fret) == (stop.finger, stop.place.fret)
        and other.place.string in barre.strings
    ]
    ends = (("start", max(flat, default=0)), ("stop", min(flat, default=0)))
    return [end for end, string in ends if len(flat) > 1 and stop.place.string == string]
