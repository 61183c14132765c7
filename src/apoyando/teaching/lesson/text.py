"""A lesson sheet as a text that a teacher can change before it is printed.

The grammar, line by line:

    # Title          ## Heading          ### Smaller heading
    - item           1. numbered item    [bars 9 to 10]    [shape bar 10 beat 2½]

Any other line is part of a paragraph; a blank line ends it. A line that begins with two
spaces goes on with the item above it. Bars go by their printed numbers; where a number
occurs more than once, ``9/2`` is the second bar with it. Beats are counted from 1 as in
``model.beat``.

Laws: ``read_lesson_text(write_lesson_text(blocks, bars), …) == blocks``, if no paragraph or item
begins with a sign of the grammar; the same blocks give the same text.
"""

import re
from collections.abc import Iterator, Sequence

from apoyando.model.arrangement import Arrangement
from apoyando.model.bar_numbers import tell_no_bar
from apoyando.model.beat import count_beat, find_beat, name_count, read_count
from apoyando.model.errors import Problem, UsageError
from apoyando.model.hand_shape import hand_shape_at
from apoyando.model.lesson import MOST_BARS_CUT, Block, Cutting, ShapePicture, Style, Words
from apoyando.model.song import Bar, bar_at

_SIGNS = {Style.TITLE: "# ", Style.HEADING: "## ", Style.SUBHEADING: "### ", Style.ITEM: "- "}
_IN_A_LIST = frozenset({Style.ITEM, Style.STEP})
_HEADING = re.compile(r"(#+)\s+(.*)")
_HEADINGS = {"#": Style.TITLE, "##": Style.HEADING, "###": Style.SUBHEADING}
_LIST_ITEM = re.compile(r"[-*]\s+(.*)")
_STEP = re.compile(r"\d{1,3}[.)]\s+(.*)", re.ASCII)
_PICTURE = re.compile(r"\[(.*)\]")
_BARS = re.compile(r"bars?\s+(\S+?)(?:(?:\s+to\s+|\s*[-–]\s*)(\S+))?", re.IGNORECASE)
_SHAPE = re.compile(r"shape\s+(?:at\s+)?bar\s+(\S+?),?\s+beat\s+(.+)", re.IGNORECASE)
_BRACKETS = "Write [bars 9 to 10] for a cutting, or [shape bar 10 beat 2] for a chord diagram."


def write_lesson_text(blocks: Sequence[Block], bars: Sequence[Bar]) -> str:
    """The text of a sheet, to be changed and read again."""
    lines: list[str] = []
    before: Block | None = None
    for number, block in _numbered(blocks):
        if before is not None and not _is_close(before, block):
            lines.append("")
        lines.append(_write_block(block, number, bars))
        before = block
    return "\n".join(lines) + "\n"


def _numbered(blocks: Sequence[Block]) -> Iterator[tuple[int, Block]]:
    """Each block with the number that it has if it is a step; steps count on until other words come."""
    number = 0
    for block in blocks:
        is_step = isinstance(block, Words) and block.style is Style.STEP
        number = number + 1 if is_step else 0
        yield number, block


def _is_close(before: Block, block: Block) -> bool:
    """Whether no blank line stands between them: items of one list, and pictures side by side."""
    if isinstance(before, Words) and isinstance(block, Words):
        return before.style is block.style and block.style in _IN_A_LIST
    return not isinstance(before, Words) and not isinstance(block, Words)


def _write_block(block: Block, number: int, bars: Sequence[Bar]) -> str:
    match block:
        case Words(Style.STEP, text):
            return f"{number}. {text}"
        case Words(style, text):
            return f"{_SIGNS.get(style, '')}{text}"
        case Cutting(first, last) if first == last:
            return f"[bar {_name_bar(bars, first)}]"
        case Cutting(first, last):
            return f"[bars {_name_bar(bars, first)} to {_name_bar(bars, last)}]"
        case ShapePicture(moment):
            bar = bar_at(tuple(bars), moment)
            return f"[shape bar {_name_bar(bars, bar.index)} beat {name_count(count_beat(bar, moment))}]"


def _name_bar(bars: Sequence[Bar], index: int) -> str:
    """The printed number; where it is not the first with it, which one."""
    numbers = ["".join(bar.number.split()) for bar in bars[: index + 1]]
    number, place = numbers[-1], numbers.count(numbers[-1])
    return number if place == 1 else f"{number}/{place}"


def read_lesson_text(text: str, name: str, arrangement: Arrangement) -> tuple[Block, ...]:
    """The sheet of a text. ``name`` is the file's, for messages.

    Raises UsageError that points at every line that cannot be meant.
    """
    read = [_read_line(number, words, arrangement) for number, words in _join_lines(text)]
    problems = [each for each in read if isinstance(each, Problem)]
    if not read:
        problems = [Problem("", "there is nothing in it to print.", "Write something, or take another file.")]
    if problems:
        raise UsageError("\n".join(f"{name}: {problem}" for problem in problems))
    return tuple(each for each in read if not isinstance(each, Problem))


def _join_lines(text: str) -> Sequence[tuple[int, str]]:
    """Each block's words on one line, with the number of the line on which they begin."""
    joined: list[tuple[int, str]] = []
    is_open = False
    for number, line in enumerate(text.split("\n"), 1):
        words = " ".join(line.split())
        if is_open and words and _goes_on(joined[-1][1], line, words):
            joined[-1] = (joined[-1][0], f"{joined[-1][1]} {words}")
        elif words:
            joined.append((number, words))
        is_open = bool(words)
    return joined


def _goes_on(before: str, line: str, words: str) -> bool:
    """A plain line goes on with a paragraph, an indented one with an item."""
    if any(sign.fullmatch(words) for sign in (_HEADING, _LIST_ITEM, _STEP, _PICTURE)):
        return False
    if _LIST_ITEM.fullmatch(before) or _STEP.fullmatch(before):
        return line.startswith("  ")
    return not (_HEADING.fullmatch(before) or _PICTURE.fullmatch(before))


class _FaultError(Exception):
    """What is wrong with a line, and what to do."""

    def __init__(self, what: str, remedy: str) -> None:
        self.what = what
        self.remedy = remedy
        super().__init__(what)


def _read_line(number: int, words: str, arrangement: Arrangement) -> Block | Problem:
    picture = _PICTURE.fullmatch(words)
    try:
        if picture:
            return _read_picture(picture[1].strip(), words, arrangement)
        return _read_words(words)
    except _FaultError as fault:
        return Problem(f"line {number}", fault.what, fault.remedy)


def _read_words(words: str) -> Words:
    heading, item, step = (sign.fullmatch(words) for sign in (_HEADING, _LIST_ITEM, _STEP))
    if heading:
        if heading[1] not in _HEADINGS:
            what = f"a heading has one, two or three signs #, and this one has {len(heading[1])}."
            raise _FaultError(what, "Take some away.")
        return Words(_HEADINGS[heading[1]], heading[2])
    if item:
        return Words(Style.ITEM, item[1])
    return Words(Style.STEP, step[1]) if step else Words(Style.PARAGRAPH, words)


def _read_picture(inside: str, line: str, arrangement: Arrangement) -> Block:
    cutting, shape = _BARS.fullmatch(inside), _SHAPE.fullmatch(inside)
    if cutting:
        return _read_cutting(cutting[1], cutting[2] or cutting[1], arrangement.bars)
    if shape:
        return _read_shape(shape[1], shape[2], arrangement)
    raise _FaultError(f"{line} is not understood.", _BRACKETS)


def _read_cutting(from_bar: str, to_bar: str, bars: tuple[Bar, ...]) -> Cutting:
    first, last = _find_bar(from_bar, bars), _find_bar(to_bar, bars)
    if last.index < first.index:
        raise _FaultError(f"bar {to_bar} comes before bar {from_bar}.", "Name the earlier bar first.")
    if last.index - first.index >= MOST_BARS_CUT:
        count = last.index - first.index + 1
        raise _FaultError(f"{count} bars are too many for one cutting.", f"Cut {MOST_BARS_CUT} at most.")
    return Cutting(first.index, last.index)


def _read_shape(bar_number: str, beat: str, arrangement: Arrangement) -> ShapePicture:
    bar = _find_bar(bar_number, arrangement.bars)
    count = read_count(beat)
    moment = None if count is None else find_beat(bar, count)
    if moment is None or not bar.span.contains(moment):
        raise _FaultError(f"there is no beat {beat} in bar {bar_number}.", "Count beats from 1, as 2 or 2½.")
    if not hand_shape_at(arrangement, moment).stops:
        raise _FaultError(f"nothing sounds in bar {bar_number} on beat {beat}.", "Name another beat.")
    return ShapePicture(moment)


def _find_bar(number: str, bars: tuple[Bar, ...]) -> Bar:
    found = {_name_bar(bars, bar.index): bar for bar in bars}
    if number not in found:
        raise _FaultError(tell_no_bar(bars, number), "Write the number as it is printed.")
    return found[number]
