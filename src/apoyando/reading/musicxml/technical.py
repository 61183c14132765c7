"""What a note says of the hands: string, fret, finger, right hand, harmonics; and of its part.

Source: W3C MusicXML 4.0, elements technical, string, fret, fingering, pluck, harmonic, other-technical,
other-notation, supports.
"""

import re
from collections.abc import Iterable
from dataclasses import replace
from xml.etree.ElementTree import Element

from apoyando.model.arrangement import Role
from apoyando.model.hand import GUIDE_FINGER, Finger, Pluck
from apoyando.model.instrument import LAST_FRET, STRINGS, Fret
from apoyando.model.score import Given
from apoyando.reading.draft import DraftNote
from apoyando.reading.musicxml.values import is_yes, read_whole, text_of

_FINGER = re.compile(r"(?P<dash>[-–])?\(?\s*(?P<digit>[0-4])\b.*")
"""A digit; what follows it (a substitution, a second choice) is not carried over.

A dash before it tells a guide finger (common practice, no source).
"""


def is_natural(harmonic: Element) -> bool:
    """A natural harmonic, of one head: an artificial one says so, or writes its base besides."""
    return all(harmonic.find(tag) is None for tag in ("artificial", "base-pitch"))


def read_role(element: Element) -> Role | None:
    """Which part a note has, where the file names it as our own files do; None where it does not."""
    named = (other.text for other in element.iterfind("notations/other-notation"))
    return next((Role(name) for name in named if name in set(Role)), None)


def read_given(element: Element) -> Given:
    """The fingering of a note; what no guitar has (string 9, finger T) counts as not said."""
    technical = element.find("notations/technical")
    if technical is None:
        return Given()
    string, fret = read_whole(text_of(technical, "string")), read_whole(text_of(technical, "fret"))
    finger = _FINGER.fullmatch(text_of(technical, "fingering"))
    pluck = text_of(technical, "pluck").lower()
    return Given(
        string=next((number for number in STRINGS if number == string), None),
        fret=Fret(fret) if fret is not None and 0 <= fret <= LAST_FRET else None,
        finger=Finger(int(finger["digit"])) if finger else None,
        pluck=Pluck(pluck) if pluck in set(Pluck) else None,
        is_guided=True if _names_guide(technical) or (finger and finger["dash"]) else None,
    )


def _names_guide(technical: Element) -> bool:
    return any(text_of(other) == GUIDE_FINGER for other in technical.iterfind("other-technical"))


def says_guides(root: Element, notes: Iterable[DraftNote]) -> bool:
    """Whether a note without a guide finger has none: the file names one, or says that it would."""
    return any(note.given.is_guided for note in notes) or supports(root, "other-technical")


def supports(root: Element, name: str) -> bool:
    """Whether the file says that where an element of this name is not in it, none is meant."""
    said = root.iterfind(f"identification/encoding/supports[@element='{name}']")
    return any(is_yes(each.get("type")) for each in said)


def without_guide(note: DraftNote) -> DraftNote:
    """The note as one of a file that names guide fingers, and none here; where the finger is written."""
    given = note.given
    if given.finger is None or given.is_guided is not None:
        return note
    return replace(note, given=replace(given, is_guided=False))
