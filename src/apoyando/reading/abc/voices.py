"""The body of a tune dealt out to its voices (ABC 2.1 section 7)."""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from apoyando.reading.abc.fields import read_voice_name
from apoyando.reading.abc.tokens import Token, cut_music
from apoyando.reading.abc.tunebook import Line

DEFAULT_VOICE = "1"


@dataclass(frozen=True, slots=True)
class VoiceLine:
    """A field, or a stretch of music cut into tokens; ``is_joined``: the line goes on in the next."""

    line: Line
    tokens: tuple[Token, ...] = ()
    is_joined: bool = False


def deal_voices(header: Sequence[Line], body: Sequence[Line]) -> dict[str, list[VoiceLine]]:
    """For each voice, in order of appearance, its lines. Fields before the first V: are for all."""
    voices: dict[str, list[VoiceLine]] = {}
    shared: list[VoiceLine] = []
    declared = [read_voice_name(line.text) for line in header if line.field == "V"]
    current = ""
    for item in _split_lines(body):
        if item.line.field == "V":
            current = read_voice_name(item.line.text) or current
            voices.setdefault(current, list(shared)).append(item)
        elif current:
            voices[current].append(item)
        elif item.line.field in ("", "w", "s"):
            current = declared[0] if declared else DEFAULT_VOICE
            voices.setdefault(current, list(shared)).append(item)
        else:
            shared.append(item)
    return voices


def _split_lines(body: Sequence[Line]) -> Iterator[VoiceLine]:
    """Lines of music cut at each inline voice change, so that a voice's lines are its own."""
    for line in body:
        if line.field:
            yield VoiceLine(line)
            continue
        yield from _split_music(line)


def _split_music(line: Line) -> Iterator[VoiceLine]:
    text = line.text.rstrip()
    is_joined = text.endswith("\\")
    stretch: list[Token] = []
    for token in cut_music(text, line.number, line.column):
        voice = re.match(r"\[V:(.*)\]", token.text) if token.kind == "inline" else None
        if voice is None:
            stretch.append(token)
            continue
        if stretch:
            yield VoiceLine(line, tuple(stretch), is_joined=True)
        stretch = []
        yield VoiceLine(Line(line.number, "V", voice[1], token.column))
    if stretch:
        yield VoiceLine(line, tuple(stretch), is_joined)
