"""Fields inside a tune: meter, key, tempo and the like change from there on (ABC 2.1 section 3.2)."""

from collections.abc import Callable

from apoyando.reading.abc.fields import (
    read_key,
    read_meter,
    read_sounding,
    read_tempo,
    read_unit,
    remark_on_tempo,
)
from apoyando.reading.abc.text import read_text
from apoyando.reading.abc.tokens import Token
from apoyando.reading.abc.walk import (
    Walk,
)


def take_field(walk: Walk, letter: str, text: str, token: Token) -> None:
    reader = _FIELD_READERS.get(letter)
    if reader:
        reader(walk, text, token)


def _take_meter(walk: Walk, text: str, token: Token) -> None:
    meter = read_meter(text)
    if isinstance(meter, str):
        walk.report(meter, "", token)
        return
    walk.meter = meter
    if walk.time == walk.bar_start:
        walk.bar_meter = meter


def _take_unit(walk: Walk, text: str, token: Token) -> None:
    unit = read_unit(text)
    if unit is None:
        walk.report(f"The note length L:{text.strip()} is not understood.", "Write it as L:1/8.", token)
    else:
        walk.unit = unit


def _take_key(walk: Walk, text: str, token: Token) -> None:
    key = read_key(text)
    if isinstance(key, str):
        walk.report(key, "", token)
        return
    walk.key = key
    walk.in_bar = {}
    walk.sounding = read_sounding(text, walk.sounding)
    if walk.time == walk.bar_start:
        walk.bar_key = key


def _take_tempo(walk: Walk, text: str, token: Token) -> None:
    tempo, words = read_tempo(text, walk.unit)
    if walk.time == 0 and walk.tempo is None and not walk.tempo_words:
        walk.tempo, walk.tempo_words = tempo, words
        if odd := remark_on_tempo(text, tempo):
            walk.remark(odd, token)
    else:
        walk.remark(f"The change of tempo Q:{text.strip()} is not carried over", token)


def _take_section(walk: Walk, text: str, _: Token) -> None:
    walk.section = read_text(text)[:60]


def _take_title(walk: Walk, text: str, _: Token) -> None:
    """A title inside the tune names a section, unless P: has named it."""
    walk.section = walk.section or read_text(text)[:60]


def _take_voice(walk: Walk, text: str, _: Token) -> None:
    walk.sounding = read_sounding(text, walk.sounding)


def _take_instruction(walk: Walk, text: str, _: Token) -> None:
    if not text.strip():
        return
    name, *rest_of_text = text.split(maxsplit=1)
    value = rest_of_text[0] if rest_of_text else ""
    if name == "propagate-accidentals" and value.strip() in ("not", "octave", "pitch"):
        walk.accidentals = value.strip()


_FIELD_READERS: dict[str, Callable[[Walk, str, Token], None]] = {
    "M": _take_meter,
    "L": _take_unit,
    "K": _take_key,
    "Q": _take_tempo,
    "P": _take_section,
    "T": _take_title,
    "V": _take_voice,
    "I": _take_instruction,
    "%%": _take_instruction,
}
