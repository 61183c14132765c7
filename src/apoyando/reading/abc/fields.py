"""The values of M:, L:, Q:, K: and V: fields (ABC 2.1 sections 3.1.6 to 3.1.14, 4.6, 7).

Each reader returns None where the value cannot be understood.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction

from apoyando.model.pitch import MOST_FIFTHS, UNISON, Interval, Key, Mode, PitchName, Step
from apoyando.model.song import Meter
from apoyando.reading.abc.text import read_text
from apoyando.reading.draft import is_meter, plausible_tempo, tell_odd_tempo
from apoyando.reading.intervals import spell_interval

_MODES = {
    "": Mode.MAJOR,
    "maj": Mode.MAJOR,
    "m": Mode.MINOR,
    "min": Mode.MINOR,
    "ion": Mode.IONIAN,
    "aeo": Mode.AEOLIAN,
    "mix": Mode.MIXOLYDIAN,
    "dor": Mode.DORIAN,
    "phr": Mode.PHRYGIAN,
    "lyd": Mode.LYDIAN,
    "loc": Mode.LOCRIAN,
}
_MODES_BY_DISTANCE = {
    0: Mode.MAJOR,
    1: Mode.MIXOLYDIAN,
    2: Mode.DORIAN,
    3: Mode.MINOR,
    4: Mode.PHRYGIAN,
    5: Mode.LOCRIAN,
    -1: Mode.LYDIAN,
}
"""The mode by how many fifths its tonic lies above the signature's major tonic."""

_TONIC = re.compile(
    r"(?P<letter>[A-G])(?P<sign>#|b|♯|♭)?\s*"
    r"(?P<mode>(?:maj|min|ion|aeo|mix|dor|phr|lyd|loc|exp)[a-z]*|m(?![a-z=]))?",
    re.IGNORECASE,
)
_ACCIDENTAL = re.compile(r"(?<![\w=])(\^\^|\^|__|_|=)([A-Ga-g])(?![\w])")
_ALTERS = {"^^": 2, "^": 1, "=": 0, "_": -1, "__": -2}
_PARAMETER = re.compile(r"(\w+)\s*=\s*(\"[^\"]*\"|\S+)")
_CLEF_OCTAVE = re.compile(
    r"(?:clef\s*=\s*\"?)?\b(?:treble|alto|tenor|bass|perc|none|soprano|G2|F4|C3)\d?([+-])8", re.IGNORECASE
)
_FARTHEST_SEMITONES = 48
_FARTHEST_OCTAVES = 4


@dataclass(frozen=True, slots=True)
class AbcKey:
    """A key signature, and the alteration of each letter under it (which may be none of a key's)."""

    key: Key
    alters: Mapping[Step, int] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Sounding:
    """How a voice sounds against what is written: ``octaves`` from octave= and the clef."""

    octaves: int = 0
    interval: Interval = UNISON


def read_meter(text: str) -> Meter | str | None:
    """A meter, None for free meter, or a complaint."""
    value = text.strip()
    if value.lower() in ("none", ""):
        return None
    if value in ("C", "c"):
        return Meter(4, 4, "common")
    if value in ("C|", "c|"):
        return Meter(2, 2, "cut")
    found = re.fullmatch(r"\(?\s*(\d{1,2}(?:\s*\+\s*\d{1,2})*)\s*\)?\s*/\s*(\d{1,3})", value)
    groups = tuple(int(number) for number in re.findall(r"\d+", found[1])) if found else ()
    beats = sum(groups)
    unit = int(found[2]) if found else 0
    if not is_meter(beats, unit):
        return f"The meter M:{value} is not understood. Write it as M:4/4, M:6/8, M:C or M:none."
    return Meter(beats, unit, groups=groups if len(groups) > 1 and all(groups) else ())


def read_unit(text: str) -> Fraction | None:
    """The unit note length in quarters."""
    found = re.fullmatch(r"\s*(\d{1,2})(?:\s*/\s*(\d{1,3}))?\s*", text)
    if not found or not int(found[1]) or not int(found[2] or 1):
        return None
    return 4 * Fraction(int(found[1]), int(found[2] or 1))


def default_unit(meter: Meter | None) -> Fraction:
    """In quarters: a sixteenth where the meter is less than 0.75, else an eighth (section 3.1.7)."""
    is_short = meter is not None and Fraction(meter.beats, meter.beat_unit) < Fraction(3, 4)
    return Fraction(1, 4) if is_short else Fraction(1, 2)


def read_tempo(text: str, unit: Fraction) -> tuple[Fraction | None, str]:
    """Quarters per minute and the words; ``unit`` is the unit note length in quarters."""
    words = " ".join(filter(None, (read_text(quoted) for quoted in re.findall(r'"([^"]*)"', text))))
    plain = _without_words(text)
    modern = re.fullmatch(r"((?:\d{1,2}\s*/\s*\d{1,3}\s*)+)=\s*(\d{1,4}(?:\.\d{1,3})?)", plain)
    if modern:
        beats = re.findall(r"(\d+)\s*/\s*(\d+)", modern[1])
        beat = sum((Fraction(int(top), int(bottom)) for top, bottom in beats if int(bottom)), Fraction(0))
        return plausible_tempo(4 * beat * Fraction(modern[2])), words
    old = re.fullmatch(r"(?:C(\d{0,2})\s*=\s*)?(\d{1,4}(?:\.\d{1,3})?)", plain)
    if old:
        return plausible_tempo(unit * int(old[1] or 1) * Fraction(old[2])), words
    return None, words


def remark_on_tempo(text: str, tempo: Fraction | None) -> str:
    """What to tell of a tempo whose number ``read_tempo`` made nothing of, "" if there is none."""
    number = _without_words(text)
    return tell_odd_tempo(number).rstrip(".") if number and tempo is None else ""


def _without_words(text: str) -> str:
    return re.sub(r'"[^"]*"', " ", text).strip()


def read_key(text: str) -> AbcKey | str:
    """A key signature, or a complaint. An empty one, "none" and clefs alone have no signature."""
    value = text.strip()
    if re.match(r"HP\b", value):
        return _signature(Key(0))
    if re.match(r"Hp\b", value):
        return _signature(Key(2))
    found = _TONIC.match(value)
    if not found or not value[0].isupper() or _is_clef_name(value):
        changes = _read_accidentals(value)
        return _named_key(dict.fromkeys(Step, 0) | changes, None) if _is_bare(value) else _complain(value)
    tonic = PitchName(Step(found["letter"].upper()), _sign_alter(found["sign"]))
    changes = _read_accidentals(value[found.end() :])
    mode_name = (found["mode"] or "").lower()[:3]
    if mode_name == "exp":
        return _named_key(dict.fromkeys(Step, 0) | changes, tonic)
    return _diatonic_key(tonic, _MODES[mode_name], changes, value)


def _sign_alter(sign: str | None) -> int:
    return {"#": 1, "♯": 1, "b": -1, "♭": -1}.get(sign or "", 0)


def _is_clef_name(value: str) -> bool:
    return bool(re.match(r"(?:bass|alto|clef|G2|F4|C3)\b", value, re.IGNORECASE))


def _is_bare(value: str) -> bool:
    """No tonic: nothing, none, accidentals or parameters only."""
    return not value or bool(
        re.match(r"none\b|[\^_=]|treble|alto|tenor|bass|perc|clef|\w+\s*=", value, re.IGNORECASE)
    )


def _complain(value: str) -> str:
    return f"The key K:{value} is not understood. Write it as K:G, K:Bb, K:Am or K:D mix."


def _diatonic_key(tonic: PitchName, mode: Mode, changes: dict[Step, int], value: str) -> AbcKey | str:
    distance = Key(0, mode).tonic.fifths
    fifths = tonic.fifths - distance
    if abs(fifths) > MOST_FIFTHS:
        kind = "sharps" if fifths > 0 else "flats"
        return f"The key K:{value} would need {abs(fifths)} {kind}. Write it with its other name."
    plain = _signature(Key(fifths, mode))
    return _named_key({**plain.alters, **changes}, tonic, plain.key) if changes else plain


def _signature(key: Key) -> AbcKey:
    """The alteration of each letter in a plain signature."""
    names = [PitchName.from_fifths(key.fifths + place) for place in range(-1, 6)]
    return AbcKey(key, {name.step: name.alter for name in names})


NO_KEY = _signature(Key(0))
"""No signature at all: K:none."""


def _named_key(alters: dict[Step, int], tonic: PitchName | None, otherwise: Key | None = None) -> AbcKey:
    """The key whose signature has these alterations, its mode by the tonic; else the one given."""
    for fifths in range(-MOST_FIFTHS, MOST_FIFTHS + 1):
        if _signature(Key(fifths)).alters == alters:
            distance = tonic.fifths - fifths if tonic else 0
            return AbcKey(Key(fifths, _MODES_BY_DISTANCE.get(distance, Mode.MAJOR)), alters)
    return AbcKey(otherwise or NO_KEY.key, alters)


def _read_accidentals(text: str) -> dict[Step, int]:
    return {Step(letter.upper()): _ALTERS[sign] for sign, letter in _ACCIDENTAL.findall(text)}


def read_sounding(text: str, before: Sounding) -> Sounding:
    """What K: or V: say of octave=, transpose= and an octave clef; what they do not say stays."""
    parameters = dict(_PARAMETER.findall(text))
    octaves = _read_number(parameters.get("octave"), _FARTHEST_OCTAVES)
    clef = _CLEF_OCTAVE.search(text)
    clef_octaves = (1 if clef[1] == "+" else -1) if clef else 0
    semitones = _read_number(parameters.get("transpose", parameters.get("t")), _FARTHEST_SEMITONES)
    total = before.octaves if octaves is None and not clef else (octaves or 0) + clef_octaves
    return Sounding(total, before.interval if semitones is None else spell_interval(semitones))


def _read_number(text: str | None, limit: int) -> int | None:
    found = re.fullmatch(r"[+-]?\d{1,2}", text or "")
    return max(-limit, min(limit, int(found[0]))) if found else None


def read_voice_name(text: str) -> str:
    """The id of a V: field: its first word, of which 20 characters count (section 7)."""
    words = text.split()
    return words[0][:20] if words else ""
