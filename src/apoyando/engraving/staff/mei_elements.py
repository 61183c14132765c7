"""MEI as text, element by element."""

from collections.abc import Mapping
from types import MappingProxyType

XML_ID = "xml:id"
NONE: Mapping[str, str] = MappingProxyType({})


def element(name: str, attributes: Mapping[str, str] = NONE, inside: str = "") -> str:
    """An element as text; what is ``inside`` is markup. No attribute here has a character that means something."""
    return f"{opened(name, attributes)}{inside}</{name}>" if inside else f"{opened(name, attributes)[:-1]} />"


def opened(name: str, attributes: Mapping[str, str]) -> str:
    written = "".join([f' {key}="{value}"' for key, value in attributes.items()])
    return f"<{name}{written}>"
