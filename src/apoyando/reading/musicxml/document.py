"""MusicXML text to a tree of elements, partwise, without trusting it.

defusedxml refuses entities and anything outside the file; the DOCTYPE that MusicXML files
carry is accepted and never fetched. Sources: W3C MusicXML 4.0; the text encodings of XML
1.0 (UTF-8, UTF-16, Latin-1).
"""

import re
from xml.etree.ElementTree import Element, ParseError, SubElement

from defusedxml.common import DefusedXmlException
from defusedxml.ElementTree import fromstring

from apoyando.model.errors import Problem, UnreadableSongError

LARGEST_DOCUMENT_BYTES = 16_000_000
"""A lead sheet has 0.1 MB, a symphony movement 5."""

DEEPEST_NESTING = 60
"""MusicXML needs about ten levels."""

_SAVE_AGAIN = "Save the song again as MusicXML."
_ROOTS = ("score-partwise", "score-timewise")


def parse_xml(data: bytes, file_name: str) -> Element:
    """The root element of an XML text. Raises UnreadableSongError pointing at line and column."""
    try:
        return _parse(data)
    except DefusedXmlException:
        what = "The file uses XML entities or reaches outside itself: it may be hostile and was not read."
        raise _refusal(file_name, "", what, "Get the song from a source that you trust.") from None
    except ParseError as error:
        raise _describe(error, data, file_name) from None
    except (LookupError, ValueError, RecursionError):
        raise _refusal(file_name, "", "The file is not readable text.", _SAVE_AGAIN) from None


def read_score(data: bytes, file_name: str) -> tuple[Element, bool]:
    """The root of a score, partwise, and whether its letters had to be guessed.

    Raises UnreadableSongError if the text is not XML, not MusicXML, or too large.
    """
    if len(data) > LARGEST_DOCUMENT_BYTES:
        raise _refusal(file_name, "", "The file is too large for a song.", _SAVE_AGAIN)
    text, is_guessed = _as_declared(data)
    root = parse_xml(text, file_name)
    _check_depth(root, file_name)
    _drop_namespace(root)
    if root.tag not in _ROOTS:
        what = f"The file is XML, but no MusicXML score (it begins with <{str(root.tag)[:40]}>)."
        raise _refusal(file_name, "", what, "Export the song as MusicXML from your notation program.")
    return (root if root.tag == _ROOTS[0] else _as_partwise(root)), is_guessed


def _parse(data: bytes) -> Element:
    root: Element = fromstring(data, forbid_dtd=False, forbid_entities=True, forbid_external=True)
    return root


def _refusal(file_name: str, place: str, what: str, remedy: str) -> UnreadableSongError:
    return UnreadableSongError(file_name, (Problem(place, what, remedy),))


def _describe(error: ParseError, data: bytes, file_name: str) -> UnreadableSongError:
    line, column = error.position
    place = f"line {line}, column {column + 1}"
    last_line = data.count(b"\n") + 1
    if "no element found" in str(error) or "unclosed" in str(error) or line > last_line:
        what = "The file breaks off before the end."
    else:
        what = f"The XML is damaged here ({str(error).partition(':')[0]})."
    return _refusal(file_name, place, what, _SAVE_AGAIN)


def _as_declared(data: bytes) -> tuple[bytes, bool]:
    """The text, as UTF-8 where it claims to be UTF-8 and is not: then it is taken for Latin-1."""
    if data[:2] in (b"\xff\xfe", b"\xfe\xff") or b"\x00" in data[:4]:
        return data, False
    declared = re.match(rb"(?:\xef\xbb\xbf)?\s*<\?xml[^>]*encoding\s*=\s*[\"']([\w.-]+)", data[:200])
    if declared and declared[1].lower() not in (b"utf-8", b"utf8"):
        return data.lstrip(), False
    stripped = data.lstrip()
    try:
        stripped.decode("utf-8")
    except UnicodeDecodeError:
        return stripped.decode("latin-1").encode("utf-8"), True
    return stripped, False


def _check_depth(root: Element, file_name: str) -> None:
    level = [root]
    for _ in range(DEEPEST_NESTING):
        level = [child for element in level for child in element]
        if not level:
            return
    raise _refusal(file_name, "", "The file is nested deeper than any music.", _SAVE_AGAIN)


def _drop_namespace(root: Element) -> None:
    for element in root.iter():
        if "}" in element.tag:
            element.tag = element.tag.rpartition("}")[2]


def _as_partwise(root: Element) -> Element:
    """A timewise score turned: parts holding measures instead of measures holding parts."""
    turned = Element("score-partwise", root.attrib)
    parts: dict[str, Element] = {}
    for child in root:
        if child.tag != "measure":
            turned.append(child)
    for measure in root.iterfind("measure"):
        for part in measure.iterfind("part"):
            name = part.get("id") or ""
            if name not in parts:
                parts[name] = SubElement(turned, "part", {"id": name})
            SubElement(parts[name], "measure", measure.attrib).extend(list(part))
    return turned
