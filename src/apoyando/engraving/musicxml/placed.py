"""Signs that stand around the notes of a measure, each with its exact place in time."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction

from apoyando.engraving.musicxml.xmltree import Element, element
from apoyando.model.time import Quarters


@dataclass(frozen=True, slots=True)
class Placed:
    """A harmony or direction and when it stands.

    ``voice`` and ``sound`` come after the offset in the file; ``voice`` is None where it is all of them.
    """

    onset: Quarters
    tag: str
    content: tuple[Element, ...]
    sound: Element = None
    voice: int | None = None
    attributes: Mapping[str, str] = field(default_factory=dict)


def make_direction(
    onset: Quarters,
    *types: Element | list[Element],
    sound: Element = None,
    placement: str = "above",
    voice: int | None = None,
) -> Placed:
    """A direction of these types; a list is one text of words and symbols."""
    content = tuple(
        element("direction-type", *(kind if isinstance(kind, list) else [kind])) for kind in types
    )
    return Placed(onset, "direction", content, sound, voice, {"placement": placement})


def decimal(number: Fraction) -> str:
    """At most two decimals, none where none are needed: 72, 62.5."""
    return f"{float(number):.2f}".rstrip("0").rstrip(".")
