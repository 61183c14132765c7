"""Tokens of one voice to notes, chords and bars (ABC 2.1 sections 4 and 5)."""

from collections.abc import Callable, Sequence
from dataclasses import replace

from apoyando.reading.abc.barlines import PLAIN_BAR, read_bar_sign
from apoyando.reading.abc.body_fields import take_field
from apoyando.reading.abc.signs import take_decoration, take_string
from apoyando.reading.abc.sounds import (
    take_bars_rest,
    take_broken,
    take_grace,
    take_group,
    take_note,
    take_rest,
    take_tie,
    take_tuplet,
)
from apoyando.reading.abc.strange import remark_strange
from apoyando.reading.abc.text import read_text
from apoyando.reading.abc.tokens import Token
from apoyando.reading.abc.tunebook import Line
from apoyando.reading.abc.voices import VoiceLine
from apoyando.reading.abc.walk import (
    Mark,
    VoiceSetting,
    Walk,
    close_bar,
    open_ending,
)
from apoyando.reading.abc.words import SetWords, align, start_line
from apoyando.reading.draft import (
    LONGEST_BAR_QUARTERS,
    MOST_BARS,
    MOST_NOTES,
)
from apoyando.reading.form import keep_jump_words, read_jump_words, read_passes

_MOST_PROBLEMS = 20


def walk_voice(lines: Sequence[VoiceLine], setting: VoiceSetting, *, is_strict: bool, is_alone: bool) -> Walk:
    """Everything that a voice says. ``is_strict``: words are aligned by ABC 2.1, else by 2.0."""
    walk = Walk.at_start(setting, is_alone=is_alone)
    words = SetWords()
    for item in lines:
        if len(walk.problems) >= _MOST_PROBLEMS or _is_absurd(walk, item.line):
            break
        if item.line.field in ("w", "s"):
            align(walk, words, item.line, is_strict=is_strict)
        elif item.line.field:
            take_field(walk, item.line.field, item.line.text, Token("field", "", item.line.number, 1))
        else:
            start_line(words, len(walk.events), is_joined=item.is_joined)
            _walk_tokens(walk, item.tokens)
            _end_line(walk)
    _end_voice(walk)
    return walk


def _end_line(walk: Walk) -> None:
    """A line that ends with its bar full ends the bar, whether or not a bar sign says so."""
    if walk.meter and not walk.is_overlaid and walk.time - walk.bar_start == walk.meter.bar_length:
        close_bar(walk, PLAIN_BAR)


def _end_voice(walk: Walk) -> None:
    """The end of the tune ends the last bar, and an ending that is still open."""
    close_bar(walk, PLAIN_BAR)
    if walk.bars and walk.bars[-1].endings:
        walk.bars[-1] = replace(walk.bars[-1], ending_stops=True)


def _is_absurd(walk: Walk, line: Line) -> bool:
    if len(walk.bars) <= MOST_BARS and len(walk.notes) <= MOST_NOTES:
        return False
    token = Token("", "", line.number, 1)
    walk.report("The tune is absurdly long.", "Save a shorter piece.", token)
    return True


def _walk_tokens(walk: Walk, tokens: Sequence[Token]) -> None:
    before = Token("", "", 0, 0)
    for token in tokens:
        if walk.is_overlaid and token.kind != "bar":
            continue
        if token.kind == "digits":
            _take_digits(walk, token, before)
        else:
            _READERS[token.kind](walk, token)
        if walk.time - walk.bar_start > LONGEST_BAR_QUARTERS:
            walk.report("The bar is absurdly long.", "Write bar lines: |", token)
            walk.bar_start = walk.time
        before = token


def _take_bar(walk: Walk, token: Token) -> None:
    close_bar(walk, read_bar_sign(token.text))


def _take_ending(walk: Walk, token: Token) -> None:
    """[1 or, in the wild, ["1st time" and ["Coda"."""
    words = read_text(token.text[1:].strip('"'))
    jump = read_jump_words(words)
    if jump:
        walk.marks.append(Mark(jump, keep_jump_words(words), walk.time))
    elif words[:1].isalpha() and not read_passes(words):
        walk.section = words[:60]
    else:
        _start_ending(walk, token, read_passes(words))


def _take_digits(walk: Walk, token: Token, before: Token) -> None:
    """Figures after a bar sign open an ending; anywhere else they mean nothing."""
    if before.kind == "bar":
        _start_ending(walk, token, read_passes(token.text))
    else:
        remark_strange(walk, token.text, token)


def _start_ending(walk: Walk, token: Token, passes: tuple[int, ...]) -> None:
    if not passes:
        remark_strange(walk, token.text, token)
        return
    if walk.time > walk.bar_start:
        close_bar(walk, PLAIN_BAR)
    open_ending(walk, passes)


def _take_overlay(walk: Walk, token: Token) -> None:
    """Only the first layer of an overlaid bar is read (section 7.4)."""
    walk.remark("What is laid over the bar with & is left out", token)
    walk.is_overlaid = True


def _take_inline(walk: Walk, token: Token) -> None:
    take_field(walk, token.text[1], token.text[3:-1], token)


def _skip(walk: Walk, token: Token) -> None:
    """Slurs, spacers and reserved characters have no time of their own."""


def _take_other(walk: Walk, token: Token) -> None:
    unclosed = _UNCLOSED.get(token.text)
    if unclosed:
        walk.report(unclosed[0], unclosed[1], token)
    else:
        remark_strange(walk, token.text, token)


_UNCLOSED = {
    '"': ("A quotation mark is not closed.", 'Write chord symbols as "Am".'),
    "{": ("The bracket of a grace note is not closed.", "Write grace notes as {g}."),
    "[": ("A bracket is not closed.", "Write notes on one stem as [CEG]."),
}
_READERS: dict[str, Callable[[Walk, Token], None]] = {
    "inline": _take_inline,
    "string": take_string,
    "decoration": take_decoration,
    "symbol": take_decoration,
    "grace": take_grace,
    "ending": _take_ending,
    "bar": _take_bar,
    "group": take_group,
    "tuplet": take_tuplet,
    "overlay": _take_overlay,
    "overlay_line": _take_overlay,
    "tie": take_tie,
    "slur": _skip,
    "note": take_note,
    "rest": take_rest,
    "bars_rest": take_bars_rest,
    "spacer": _skip,
    "broken": take_broken,
    "reserved": _skip,
    "other": _take_other,
}
