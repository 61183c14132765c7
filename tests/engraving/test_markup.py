"""Elements written as text, held against the library's own writer, which is slower."""

from xml.etree.ElementTree import Element, SubElement, fromstring, tostring

import pytest
from hypothesis import given
from hypothesis import strategies as st

from apoyando.engraving.drawing.markup import write_xml

NAMES = st.sampled_from(["g", "path", "data-bars", "xml:space"])
WORDS = st.text(st.characters(codec="utf-8", exclude_categories=["Cs"]), max_size=8)


def element(tag: str, attributes: dict[str, str], text: str | None, children: list[Element]) -> Element:
    made = Element(tag, attributes)
    made.text = text
    made.extend(children)
    return made


leaves = st.builds(element, NAMES, st.dictionaries(NAMES, WORDS, max_size=3), st.none() | WORDS, st.just([]))
trees = st.recursive(
    leaves,
    lambda inside: st.builds(element, NAMES, st.just({}), st.none() | WORDS, st.lists(inside, max_size=3)),
    max_leaves=6,
)


@given(trees)
def test_it_is_what_the_library_writes(root: Element) -> None:
    assert write_xml(root) == tostring(root, encoding="unicode")


@pytest.mark.parametrize("text", ["a < b & c > d", 'said "so"', "two\nlines\tand a tab"])
def test_what_has_a_meaning_in_xml_is_read_back_as_it_was(text: str) -> None:
    root = Element("text", {"said": text})
    SubElement(root, "text").text = text
    read = fromstring(write_xml(root))  # noqa: S314 - written by us
    assert (read.get("said"), read[0].text) == (text, text)
