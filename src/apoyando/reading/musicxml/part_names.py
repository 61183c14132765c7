"""What the parts of a score are called.

Source: W3C MusicXML 4.0, elements part-list, score-part, part-name, score-instrument.
"""

from xml.etree.ElementTree import Element

from apoyando.reading.musicxml.values import text_of

_LONGEST_NAME = 40


def elements_of(root: Element) -> list[Element]:
    """The parts that hold measures, in the order in which ``read_parts`` gives them."""
    return [part for part in root.iterfind("part") if part.find("measure") is not None]


def listing_of(root: Element, part: Element) -> Element | None:
    """What the part list says of a part."""
    return next(
        (item for item in root.iterfind("part-list/score-part") if item.get("id") == part.get("id")), None
    )


def names_in(listed: Element | None) -> tuple[str, ...]:
    return text_of(listed, "part-name"), text_of(listed, "score-instrument/instrument-name")


def name_of(root: Element, part: Element) -> str:
    """A part's name as a player would say it, in quotation marks."""
    found = plain_name_of(root, part) or (part.get("id") or "").strip()[:_LONGEST_NAME]
    return f"“{found}”" if found else "without a name"


def plain_name_of(root: Element, part: Element) -> str:
    """The first name that the part list gives a part, "" if it gives none."""
    return next((name[:_LONGEST_NAME] for name in names_in(listing_of(root, part)) if name), "")
