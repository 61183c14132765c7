"""Directions above the staff: jumps, sections, tempo, and chords written as mere words.

Source: W3C MusicXML 4.0, elements direction, direction-type, symbol, metronome, bracket, sound.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from xml.etree.ElementTree import Element

from apoyando.model.hand import HARMONIC_WORD, roman
from apoyando.model.instrument import LAST_FRET, Fret
from apoyando.model.song import Jump
from apoyando.reading.draft import plausible_tempo
from apoyando.reading.form import keep_jump_words, read_jump_words, sort_jumps
from apoyando.reading.musicxml.values import is_yes, read_decimal, read_note_value, text_of

_SECTION = re.compile(
    r"(?:intro(?:duction)?|verse|chorus|refrain|bridge|interlude|instrumental|solo|outro|ending|tag|vamp"
    r"|pre-?\s?chorus|turnaround|theme|trio|middle eight|part|section|strophe|estribillo|couplet)"
    r"(?:\s*[A-Z0-9]{1,3})?[.:]?",
    re.IGNORECASE,
)
_TEMPO_WORDS = re.compile(
    r"(?:.*\b(?:tempo|swing|waltz|march|ballad|rubato)\b.*"
    r"|(?:very |molto |un poco |poco |con |not too |non troppo )*"
    r"(?:largo|larghetto|lento|grave|adagio|adagietto|andante|andantino|moderato|allegretto|allegro|vivace|presto"
    r"|prestissimo|maestoso|cantabile|dolce|slow(?:ly)?|moderate(?:ly)?|fast|lively|brightly|gently|tenderly"
    r"|freely|easy|medium|quick(?:ly)?|steady|expressively|with)\b.*)",
    re.IGNORECASE,
)

_BARRE = re.compile(r"½?\s*C\s*(?P<fret>[IVX]+)")
_HARMONICS = re.compile(rf"{re.escape(HARMONIC_WORD)} [IVX]+(?:, [IVX]+)*")
"""Words over harmonics, whose notes say the same."""
_SYMBOLS = {"coda": "𝄌", "segno": "𝄋"}
"""By their names in SMuFL, the signs that ``read_jump_words`` knows."""
_FRETS = {roman(fret): Fret(fret) for fret in range(1, LAST_FRET + 1)}


@dataclass(frozen=True, slots=True)
class BracketStart:
    """Where a bracket begins; ``y_tenths`` is how high it lies over the top line of the staff, if that is said."""

    number: str
    y_tenths: Fraction | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Direction:
    """What one direction says. ``words`` are those that say nothing else here.

    ``odd_tempo`` is one, as it is written, that cannot be meant. ``dynamics`` are its marks by
    their letters, ``swells`` the hairpins that begin there; ``barre_fret`` is that of a barre whose name
    begins a bracket; ``bracket_starts`` are the brackets that begin there, ``bracket_stops`` the numbers
    of those that end; ``voice`` is "" where it names none.
    """

    jumps: tuple[Jump, ...] = ()
    jump_words: str = ""
    section: str = ""
    tempo: Fraction | None = None
    tempo_words: str = ""
    odd_tempo: str = ""
    words: tuple[str, ...] = ()
    dynamics: tuple[str, ...] = ()
    swells: tuple[str, ...] = ()
    barre_fret: Fret | None = None
    bracket_starts: tuple[BracketStart, ...] = ()
    bracket_stops: tuple[str, ...] = ()
    is_above: bool = False
    voice: str = ""


def read_direction(element: Element) -> Direction:
    """Tempo is in quarters per minute."""
    sound = element if element.tag == "sound" else element.find("sound")
    written = (text for kind in element.iterfind("direction-type") for text in _read_words(kind))
    words = tuple(text for text in written if text and not _HARMONICS.fullmatch(text))
    metronome = element.find("direction-type/metronome")
    tempo = _read_metronome(metronome) or _read_sound_tempo(sound)
    bracket_starts = tuple(_read_bracket_starts(element))
    barres = {text: fret for text in words if bracket_starts and (fret := _read_barre(text))}
    jump_words = _jump_words(words, sound)
    section = text_of(element, "direction-type/rehearsal") or next(filter(_SECTION.fullmatch, words), "")
    told = {section, *barres, *jump_words}
    others = tuple(text for text in words if text not in told)
    tempo_words = " ".join(text for text in others if tempo or _TEMPO_WORDS.fullmatch(text))
    return Direction(
        jumps=_read_jumps(element, words, sound),
        jump_words=" ".join(filter(None, map(keep_jump_words, jump_words))),
        section=section,
        tempo=tempo,
        tempo_words=tempo_words,
        odd_tempo="" if tempo else _name_tempo(metronome, sound),
        words=() if tempo_words else others,
        dynamics=tuple(_read_dynamics(element)),
        swells=tuple(_read_swells(element)),
        barre_fret=next(iter(barres.values()), None),
        bracket_starts=bracket_starts,
        bracket_stops=tuple(_number_of(item) for item in _brackets(element, "stop")),
        is_above=element.get("placement") == "above",
        voice=text_of(element, "voice"),
    )


def _read_words(kind: Element) -> Iterator[str]:
    """The words of a direction type, each by itself; where signs stand between them all is one text."""
    items = [item for item in kind if item.tag in {"words", "symbol"}]
    texts = (text_of(item) if item.tag == "words" else _SYMBOLS.get(text_of(item), "") for item in items)
    yield from [" ".join(filter(None, texts))] if any(item.tag == "symbol" for item in items) else texts


def _read_barre(text: str) -> Fret | None:
    """``C VII``, ``½C II``: the fret."""
    found = _BARRE.fullmatch(text)
    return _FRETS.get(found["fret"]) if found else None


def _read_dynamics(element: Element) -> Iterator[str]:
    """The letters of each mark; those of another kind stand as text."""
    for mark in element.iterfind("direction-type/dynamics/*"):
        yield text_of(mark) if mark.tag == "other-dynamics" else mark.tag


def _read_swells(element: Element) -> Iterator[str]:
    for wedge in element.iterfind("direction-type/wedge"):
        kind = wedge.get("type", "")
        if kind in ("crescendo", "diminuendo"):
            yield kind


def _read_bracket_starts(element: Element) -> Iterator[BracketStart]:
    for item in _brackets(element, "start"):
        yield BracketStart(_number_of(item), read_decimal(item.get("default-y")))


def _brackets(element: Element, kind: str) -> Iterator[Element]:
    return (item for item in element.iterfind("direction-type/bracket") if item.get("type") == kind)


def _number_of(bracket: Element) -> str:
    return bracket.get("number", "1")


def read_barline_jumps(element: Element) -> tuple[Jump, ...]:
    """The signs that stand on a barline, printed or only for playback."""
    signs = (Jump.SEGNO, Jump.CODA)
    return tuple(jump for jump in signs if element.find(jump) is not None or element.get(jump))


def _jump_words(words: tuple[str, ...], sound: Element | None) -> tuple[str, ...]:
    """Those that word a jump: by what they say, or all where playback leaves the bar there (``Fin``)."""
    leaves = any(jump not in {Jump.SEGNO, Jump.CODA} for jump in _sound_jumps(sound))
    return tuple(filter(read_jump_words, words)) or (words if leaves else ())


def _read_jumps(element: Element, words: tuple[str, ...], sound: Element | None) -> tuple[Jump, ...]:
    jumps = {*_sign_jumps(element), *_sound_jumps(sound), *filter(None, map(read_jump_words, words))}
    if Jump.TO_CODA in jumps and (sound is None or not sound.get("coda")):
        jumps.discard(Jump.CODA)
    if jumps & {Jump.DA_CAPO, Jump.DAL_SEGNO}:
        jumps -= {Jump.CODA, Jump.SEGNO}
    return sort_jumps(tuple(jumps))


def _sign_jumps(element: Element) -> Iterator[Jump]:
    if element.find("direction-type/segno") is not None:
        yield Jump.SEGNO
    if element.find("direction-type/coda") is not None:
        yield Jump.CODA


def _sound_jumps(sound: Element | None) -> Iterator[Jump]:
    """What playback is told, in MusicXML's own attributes."""
    if sound is None:
        return
    if is_yes(sound.get("dacapo")):
        yield Jump.DA_CAPO
    for attribute, jump in _SOUND_JUMPS.items():
        if sound.get(attribute):
            yield jump


_SOUND_JUMPS = {
    "dalsegno": Jump.DAL_SEGNO,
    "tocoda": Jump.TO_CODA,
    "fine": Jump.FINE,
    "segno": Jump.SEGNO,
    "coda": Jump.CODA,
}


def _read_metronome(element: Element | None) -> Fraction | None:
    """A mark such as dotted quarter = 60; a mark of two note values gives no tempo."""
    if element is None or len(element.findall("beat-unit")) != 1:
        return None
    unit = read_note_value(element, "beat-unit", "beat-unit-dot")
    number = re.search(r"(?<![-\d])\d{1,4}(?:\.\d{1,3})?(?!\d)", text_of(element, "per-minute"))
    if unit is None or number is None:
        return None
    return plausible_tempo(Fraction(number[0]) * unit)


def _read_sound_tempo(sound: Element | None) -> Fraction | None:
    return plausible_tempo(read_decimal(sound.get("tempo"))) if sound is not None else None


def _name_tempo(metronome: Element | None, sound: Element | None) -> str:
    """What is written where a number should be; "" where none is asked for."""
    played = "" if sound is None else sound.get("tempo", "")
    return text_of(metronome, "per-minute") or " ".join(played.split())
