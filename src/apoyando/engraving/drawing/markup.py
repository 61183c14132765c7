"""Elements as text: what the library's own writer makes of elements without namespaces, sooner.

A page has thousands of elements; the general writer looks for namespaces in each.
"""

import re
from xml.etree.ElementTree import Element

_SPECIAL = re.compile(r'[&<>"\r\n\t]')
_IN_TEXT = str.maketrans({"&": "&amp;", "<": "&lt;", ">": "&gt;"})
_IN_ATTRIBUTES = str.maketrans(
    {"&": "&amp;", "<": "&lt;", ">": "&gt;", '"': "&quot;", "\r": "&#13;", "\n": "&#10;", "\t": "&#09;"}
)


def write_xml(root: Element) -> str:
    """An element with all that is in it, no declaration. Law: as ``tostring(root, encoding="unicode")``."""
    parts: list[str] = []
    _write(root, parts)
    return "".join(parts)


def _write(element: Element, parts: list[str]) -> None:
    parts.append(f"<{element.tag}")
    attributes = list(element.items())
    if _SPECIAL.search("".join([value for _, value in attributes])):
        attributes = [(name, value.translate(_IN_ATTRIBUTES)) for name, value in attributes]
    parts += [f' {name}="{value}"' for name, value in attributes]
    if element.text or len(element):
        parts.append(">")
        if element.text:
            parts.append(element.text.translate(_IN_TEXT))
        for child in element:
            _write(child, parts)
        parts.append(f"</{element.tag}>")
    else:
        parts.append(" />")
    if element.tail:
        parts.append(element.tail.translate(_IN_TEXT))
