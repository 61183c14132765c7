"""An ABC file cut into its tunes: sections 2.2 (file structure) and 3.3 (field continuation)."""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace

_FIELD = re.compile(r"([A-Za-z+]):(.*)", re.DOTALL)
_BODY_FIELD = re.compile(
    r"([H-WYZh-wV+]):(?![|:\]])(.*)|([A-GXa-gx-z]):(?!\s*[|:\]]|\S*[|])(\s*[A-Za-z].*)", re.DOTALL
)
_VERSION = re.compile(r"%abc-(\d+)\.(\d+)")
_DIRECTIVE = re.compile(r"%%\s*(\S+)\s*(.*)")


@dataclass(frozen=True, slots=True)
class Line:
    """A line without its comment. ``field`` is the letter of an information field, "" for music,
    "%%" for a directive (``text`` then starts with its name). Lines count from 1.
    """

    number: int
    field: str
    text: str
    column: int = 1


@dataclass(frozen=True, slots=True)
class TuneLines:
    """``header`` ends with the K: line. ``is_strict``: the file says that it is ABC 2.1 or later."""

    header: tuple[Line, ...]
    body: tuple[Line, ...]
    is_strict: bool
    has_gap: bool = False


@dataclass(slots=True)
class _Open:
    """A tune while its lines come in."""

    lines: list[Line] = field(default_factory=list)
    has_key: bool = False
    has_gap: bool = False


def split_tunes(text: str) -> tuple[TuneLines, ...]:
    """The tunes of a file, the file header put before each tune's own."""
    lines = re.split(r"\r\n|\r|\n", text)
    version = _VERSION.match(text.lstrip("\ufeff"))
    is_strict = bool(version) and (int(version[1]), int(version[2])) >= (2, 1) if version else False
    shared, start = _read_file_header(lines)
    tunes = [_close(tune, shared, is_strict=is_strict) for tune in _collect(lines, start)]
    return tuple(tune for tune in tunes if tune.header)


def _read_file_header(lines: Sequence[str]) -> tuple[list[Line], int]:
    """The fields before the first empty line, if no tune starts among them."""
    end = next((place for place, text in enumerate(lines) if not text.strip()), len(lines))
    block = lines[:end]
    if any(re.match(r"[XK]:", text) for text in block):
        return [], 0
    header = [
        line for place, text in enumerate(block) if (line := _read_line(place + 1, text, in_body=False))
    ]
    return [line for line in header if line.field], end


def _collect(lines: Sequence[str], start: int) -> Iterator[_Open]:
    """The lines of each tune: from X: to an empty line, and on where music goes on after it."""
    tune: _Open | None = None
    is_after_gap = False
    for place in range(start, len(lines)):
        text = lines[place]
        if not text.strip():
            is_after_gap = True
            continue
        if re.match(r"X:", text) or (tune is None and re.match(r"[TMLCK]:", text)):
            if tune:
                yield tune
            tune = _Open()
        elif tune is None or (is_after_gap and not _goes_on(text, tune)):
            continue
        elif is_after_gap and tune.has_key and not text.startswith("%"):
            tune.has_gap = True
        is_after_gap = False
        _take(tune, place + 1, text)
    if tune:
        yield tune


def _goes_on(text: str, tune: _Open) -> bool:
    """After an empty line: fields of an unfinished header, or a line that can only be music."""
    if not tune.has_key:
        return bool(_FIELD.match(text))
    has_music = "|" in text and bool(re.search(r"[A-Ga-gz]", text))
    return has_music or bool(re.match(r"(?:[wWVPKMLs]:|%)", text))


def _take(tune: _Open, number: int, text: str) -> None:
    line = _read_line(number, text, in_body=tune.has_key)
    if line is None:
        return
    if line.field == "+":
        _continue_field(tune.lines, line)
        return
    tune.lines.append(line)
    tune.has_key = tune.has_key or line.field == "K"


def _continue_field(lines: list[Line], line: Line) -> None:
    """A field goes on, through comments and directives in between."""
    for place in range(len(lines) - 1, -1, -1):
        if lines[place].field != "%%":
            text = f"{lines[place].text.rstrip()} {line.text.strip()}"
            lines[place] = replace(lines[place], text=text)
            return


def _read_line(number: int, text: str, *, in_body: bool) -> Line | None:
    """A line by its kind; None for a comment."""
    directive = _DIRECTIVE.match(text)
    if directive:
        return Line(number, "%%", f"{directive[1]} {directive[2]}".strip())
    uncommented = _without_comment(text)
    if not uncommented.strip():
        return None
    found = (_BODY_FIELD if in_body else _FIELD).fullmatch(uncommented)
    if found:
        letter, value = (part for part in found.groups() if part is not None)
        return Line(number, letter, value, column=3)
    return Line(number, "", uncommented)


def _without_comment(text: str) -> str:
    """The text before a percent sign that is not escaped (section 2.2.5)."""
    found = re.search(r"(?<!\\)%", text)
    return text[: found.start()] if found else text


def _close(tune: _Open, shared: Sequence[Line], *, is_strict: bool) -> TuneLines:
    key = next((place for place, line in enumerate(tune.lines) if line.field == "K"), -1)
    header = (*shared, *tune.lines[: key + 1]) if key >= 0 else ()
    return TuneLines(header, tuple(tune.lines[key + 1 :]), is_strict, tune.has_gap)
