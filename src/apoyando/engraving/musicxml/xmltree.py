"""XML elements written as nested calls.

``element("pitch", element("step", "C"), element("octave", 4))`` reads like the file it
makes. What XML 1.0 cannot hold (section 2.2, control characters) is left out of texts.
"""

import re
from typing import Any

from lxml import etree  # pyright: ignore[reportAttributeAccessIssue] - the library has no types

Element = Any
"""An lxml element (the library has no types)."""

_NOT_XML = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


def element(tag: str, *content: Element | str | int | None, **attributes: str | int | None) -> Element:
    """An element with children or a text. None is left out; ``_`` in attribute names is ``-``."""
    made = etree.Element(tag)
    for name, value in attributes.items():
        if value is not None:
            made.set(name.replace("_", "-"), clean_text(str(value)))
    for part in content:
        if isinstance(part, str | int):
            made.text = clean_text(str(part))
        elif part is not None:
            made.append(part)
    return made


def clean_text(text: str) -> str:
    return _NOT_XML.sub("", text)


def write_document(root: Element, doctype: str) -> bytes:
    """UTF-8 with declaration and document type, indented; the same tree gives the same bytes."""
    etree.indent(root)
    written: bytes = etree.tostring(
        root, xml_declaration=True, encoding="UTF-8", doctype=doctype, pretty_print=True
    )
    return written
