"""One ABC tune to a ``Draft``: its header, its voices, and which of them sings."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from pathlib import PurePath

from apoyando.model.errors import Problem, UnreadableSongError
from apoyando.model.song import Bar, Meter, ReadingRemark
from apoyando.reading.abc.body import walk_voice
from apoyando.reading.abc.fields import (
    NO_KEY,
    AbcKey,
    Sounding,
    default_unit,
    read_key,
    read_meter,
    read_sounding,
    read_tempo,
    read_unit,
    read_voice_name,
    remark_on_tempo,
)
from apoyando.reading.abc.text import read_text
from apoyando.reading.abc.tunebook import Line, TuneLines
from apoyando.reading.abc.voices import deal_voices
from apoyando.reading.abc.walk import VoiceSetting, Walk
from apoyando.reading.bar_lengths import settle_bar_lengths
from apoyando.reading.draft import Draft
from apoyando.reading.expression import tell_expression

_MOST_PROBLEMS = 20
_SYMBOLS = {
    "~": "roll",
    "H": "fermata",
    "L": "accent",
    "M": "lowermordent",
    "O": "coda",
    "P": "uppermordent",
    "S": "segno",
    "T": "trill",
    "u": "upbow",
    "v": "downbow",
    ".": "staccato",
}
"""The standard set of definitions (section 4.16)."""


@dataclass(frozen=True, slots=True)
class _Header:
    """The header of a tune, understood."""

    setting: VoiceSetting
    sounding: Mapping[str, Sounding]
    tempo: Fraction | None
    tempo_words: str
    remarks: tuple[ReadingRemark, ...]


def draft_tune(tune: TuneLines, file_name: str, *, letters_guessed: bool = False) -> Draft:
    """The draft of a tune. Raises UnreadableSongError with every place that is wrong."""
    header, problems = _read_header(tune.header)
    voices = deal_voices(tune.header, tune.body)
    walks = {
        name: walk_voice(
            lines,
            replace(header.setting, sounding=header.sounding.get(name, header.setting.sounding)),
            is_strict=tune.is_strict,
            is_alone=len(voices) == 1,
        )
        for name, lines in voices.items()
    }
    problems += [problem for walk in walks.values() for problem in walk.problems]
    if problems:
        raise UnreadableSongError(file_name, tuple(dict.fromkeys(problems))[:_MOST_PROBLEMS])
    return _assemble(tune, header, walks, file_name, letters_guessed=letters_guessed)


def _assemble(
    tune: TuneLines, header: _Header, walks: Mapping[str, Walk], file_name: str, *, letters_guessed: bool
) -> Draft:
    singing, naming = _choose_voices(walks)
    bars = settle_bar_lengths(tuple(singing.bars))[0] if singing and singing.bars else ()
    tempo, tempo_words = _choose_tempo(header, singing)
    return Draft(
        title=_read_title(tune.header, file_name),
        bars=bars,
        notes=tuple(singing.notes) if singing else (),
        chords=tuple(naming.chords) if naming else (),
        composer=_read_composer(tune.header),
        rights=_read_rights(tune.header),
        tempo_quarters_per_minute=tempo,
        tempo_words=tempo_words,
        remarks=(
            *_general_remarks(tune, walks, letters_guessed=letters_guessed),
            *header.remarks,
            *(_walk_remarks(singing, bars) if singing else ()),
        ),
        double_bars_bound_repeats=True,
    )


def _choose_voices(walks: Mapping[str, Walk]) -> tuple[Walk | None, Walk | None]:
    """The first voice with notes sings; the chords are its own, else those of the first voice that has any."""
    singing = next((walk for walk in walks.values() if walk.notes), None)
    if singing is None or singing.chords:
        return singing, singing
    return singing, next((walk for walk in walks.values() if walk.chords), singing)


def _choose_tempo(header: _Header, singing: Walk | None) -> tuple[Fraction | None, str]:
    if singing and (singing.tempo or singing.tempo_words):
        return singing.tempo, singing.tempo_words
    return header.tempo, header.tempo_words


def _walk_remarks(walk: Walk, bars: Sequence[Bar]) -> Iterator[ReadingRemark]:
    """What was remarked on in the voice; after the last bar it belongs to that bar."""

    def number(index: int) -> str:
        return bars[min(index, len(bars) - 1)].number if bars else ""

    for index, text in walk.remarks:
        yield ReadingRemark(number(index), text)
    yield from tell_expression((number(index), sign) for index, sign in walk.expression)


def _general_remarks(
    tune: TuneLines, walks: Mapping[str, Walk], *, letters_guessed: bool
) -> Iterator[ReadingRemark]:
    if letters_guessed:
        text = "The letters of the file are not UTF-8 as ABC has it: read as Latin-1. Look at the words."
        yield ReadingRemark("", text)
    if tune.has_gap:
        yield ReadingRemark(
            "", "An empty line ends a tune in ABC; the music after it is read on. Take it out."
        )
    singing = [name for name, walk in walks.items() if walk.notes]
    if len(singing) > 1:
        yield ReadingRemark("", f"Of {len(singing)} voices the first one, {singing[0]}, is the melody.")


def _read_header(lines: Sequence[Line]) -> tuple[_Header, list[Problem]]:
    problems: list[Problem] = []
    meter = _read_last_meter(lines, problems)
    unit = _read_last_unit(lines, problems) or default_unit(meter)
    key = _read_last_key(lines, problems)
    sounding = read_sounding(_last(lines, "K"), Sounding())
    tempo, words = read_tempo(_last(lines, "Q"), unit)
    odd_tempo = remark_on_tempo(_last(lines, "Q"), tempo)
    remarks = (*_header_remarks(lines), *((ReadingRemark("", f"{odd_tempo}."),) if odd_tempo else ()))
    setting = VoiceSetting(
        unit=unit,
        meter=meter,
        key=key,
        sounding=sounding,
        symbols=_read_symbols(lines),
        accidentals=_read_propagation(lines),
    )
    voices = {
        read_voice_name(line.text): read_sounding(line.text, sounding) for line in lines if line.field == "V"
    }
    return _Header(setting, voices, tempo, words, remarks), problems


def _last(lines: Sequence[Line], field: str) -> str:
    """The value of a field; a later one overrides an earlier one (section 3)."""
    return next((line.text for line in reversed(lines) if line.field == field), "")


def _line_of(lines: Sequence[Line], field: str) -> str:
    return next((f"line {line.number}" for line in reversed(lines) if line.field == field), "")


def _read_last_meter(lines: Sequence[Line], problems: list[Problem]) -> Meter | None:
    meter = read_meter(_last(lines, "M"))
    if isinstance(meter, str):
        problems.append(Problem(_line_of(lines, "M"), meter, ""))
        return None
    return meter


def _read_last_unit(lines: Sequence[Line], problems: list[Problem]) -> Fraction | None:
    text = _last(lines, "L")
    unit = read_unit(text)
    if unit is None and text.strip():
        what = f"The note length L:{text.strip()} is not understood."
        problems.append(Problem(_line_of(lines, "L"), what, "Write it as L:1/8."))
    return unit


def _read_last_key(lines: Sequence[Line], problems: list[Problem]) -> AbcKey:
    key = read_key(_last(lines, "K"))
    if isinstance(key, str):
        problems.append(Problem(_line_of(lines, "K"), key, ""))
        return NO_KEY
    return key


def _read_symbols(lines: Sequence[Line]) -> dict[str, str]:
    """The letters that stand for decorations, with those that U: defines."""
    symbols = dict(_SYMBOLS)
    for line in lines:
        letter, _, value = line.text.partition("=")
        if line.field == "U" and len(letter.strip()) == 1:
            symbols[letter.strip()] = value.strip().strip("!+")
    return symbols


def _read_propagation(lines: Sequence[Line]) -> str:
    """How far accidentals reach in the bar (section 11.3); the standard's own is "pitch"."""
    reach = "pitch"
    for line in lines:
        words = line.text.split()
        if line.field in ("I", "%%") and words[:1] == ["propagate-accidentals"]:
            reach = words[1] if words[1:] and words[1] in ("not", "octave", "pitch") else reach
    return reach


def _header_remarks(lines: Sequence[Line]) -> Iterator[ReadingRemark]:
    order = _last(lines, "P").strip()
    if order:
        yield ReadingRemark("", f"The parts are read as written, not in the order P:{order}.")
    if any(line.field == "m" for line in lines):
        yield ReadingRemark("", "Macros (m:) are not played out.")


def _texts(lines: Sequence[Line], field: str) -> list[str]:
    return list(
        dict.fromkeys(text for line in lines if line.field == field and (text := read_text(line.text)))
    )


def _read_title(lines: Sequence[Line], file_name: str) -> str:
    """The first title; the others are other names of the tune."""
    return (*_texts(lines, "T"), PurePath(file_name).stem)[0]


def _read_composer(lines: Sequence[Line]) -> str:
    """Composers, and the origin after them in parentheses (section 6.1.3)."""
    composers, origins = "; ".join(_texts(lines, "C")), "; ".join(_texts(lines, "O"))
    return f"{composers} ({origins})".strip() if origins else composers


def _read_rights(lines: Sequence[Line]) -> str:
    """Z:abc-copyright, or its outdated directive (sections 3.1.10, 10.4)."""
    texts = [*_texts(lines, "Z"), *_texts(lines, "%%")]
    return "; ".join(
        text.removeprefix("abc-copyright").strip() for text in texts if text.startswith("abc-copyright")
    )
