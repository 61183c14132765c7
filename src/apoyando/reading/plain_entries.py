"""The entries of a plan that are one value each: their values read from TOML.

Each function takes where the entry stands and its name, for messages, and its value. Raises UsageError.
"""

from collections.abc import Sequence
from difflib import get_close_matches

from apoyando.model.errors import UsageError
from apoyando.model.instrument import TUNINGS
from apoyando.model.plan import ENDINGS, HIGHEST_CAPO, INTRODUCTIONS, TEXTURES, TREATMENTS, Melody, Treatment
from apoyando.model.prices import HIGHEST_FACTOR, PRICE_NAMES
from apoyando.reading.toml_entries import (
    bad_entry,
    read_choice,
    read_choices,
    read_number,
    read_table,
    read_whole,
)

_TONICS = tuple(f"{letter}{sign}" for letter in "CDEFGAB" for sign in ("", "#", "b"))
_FARTHEST_OCTAVES = 5
"""The lowest note that MIDI has is brought onto the fingerboard from there, in any key."""
_HAND_SIZES = (0.5, 1.5)
_MINUTES = (0.1, 60.0)
_LONGEST_NAME = 200


def read_tonic(source: str, name: str, value: object) -> str:
    if value == "":
        return ""
    if not isinstance(value, str) or value not in _TONICS:
        raise bad_entry(source, name, value, 'write a tonic as "G", "F#" or "Bb", or "" to let it be chosen')
    return value


def read_level(source: str, name: str, value: object) -> str:
    """Any name; ``read_plan`` knows which levels there are."""
    if not isinstance(value, str) or not value:
        raise bad_entry(source, name, value, "write the name of a level")
    return value


def read_texture(source: str, name: str, value: object) -> str:
    return "" if value == "" else read_choice(source, name, value, TEXTURES)


def read_tuning(source: str, name: str, value: object) -> str:
    return "" if value == "" else read_choice(source, name, value, TUNINGS)


def read_capo(source: str, name: str, value: object) -> int:
    return read_whole(source, name, value, 0, HIGHEST_CAPO)


def read_melody(source: str, name: str, value: object) -> Melody:
    return Melody(read_choice(source, name, value, tuple(Melody)))


def read_treatments(source: str, name: str, value: object) -> tuple[Treatment, ...]:
    return tuple(Treatment(each) for each in read_choices(source, name, value, TREATMENTS))


def read_octave(source: str, name: str, value: object) -> int:
    return read_whole(source, name, value, -_FARTHEST_OCTAVES, _FARTHEST_OCTAVES)


def read_hand_size(source: str, name: str, value: object) -> float:
    return read_number(source, name, value, *_HAND_SIZES)


def read_introduction(source: str, name: str, value: object) -> str:
    return _read_named(source, name, value, INTRODUCTIONS)


def read_ending(source: str, name: str, value: object) -> str:
    return _read_named(source, name, value, ENDINGS)


def _read_named(source: str, name: str, value: object, choices: Sequence[str]) -> str:
    """One of the choices; "" is one of them."""
    if value not in choices:
        named = ", ".join(f'"{choice}"' for choice in choices)
        raise bad_entry(source, name, value, f"write one of {named}")
    return str(value)


def read_minutes(source: str, name: str, value: object) -> float:
    return read_number(source, name, value, *_MINUTES)


def read_part(source: str, name: str, value: object) -> str:
    """Which parts there are is known when the song is read."""
    if isinstance(value, int) and not isinstance(value, bool) and value > 0:
        return str(value)
    if not isinstance(value, str) or len(value) > _LONGEST_NAME:
        raise bad_entry(
            source, name, value, 'write the name or the number of a part, or "" to let it be chosen'
        )
    return value


def read_prices(source: str, name: str, value: object) -> dict[str, float]:
    factors = read_table(source, name, value)
    for price in factors:
        if price not in PRICE_NAMES:
            near = ", ".join(get_close_matches(price, PRICE_NAMES)) or "none"
            raise UsageError(
                f"{source}, {name}: there is no price {price}; of like name: {near}. "
                "All prices are told in docs/objective.md."
            )
    return {
        price: read_number(f"{source}, {name}", price, factors[price], 0.0, HIGHEST_FACTOR)
        for price in sorted(factors)
    }
