"""Which texture: what the player asks for, bar by bar, or else what suits meter, tempo and level."""

from collections.abc import Sequence
from fractions import Fraction

from apoyando.arranging.section_bars import find_bars
from apoyando.arranging.texture.ground import EIGHTH
from apoyando.model.level import Level
from apoyando.model.plan import Plan
from apoyando.model.song import DEFAULT_TEMPO_QUARTERS_PER_MINUTE, Bar, Meter, Song

_WALTZ_PULSES_PER_MINUTE = 120
"""From here on three beats are felt as one, and a waltz accompaniment carries them (common practice, no source)."""
_MARCH_QUARTERS_PER_MINUTE = 84
"""A slower two-four or two-two is no march (common practice, no source)."""
_FASTEST_QUARTERS_PER_MINUTE = 168
"""Above it eighths are past intermediate hands, and the tune is enough to do."""


def choose_textures(song: Song, plan: Plan, level: Level) -> tuple[str, tuple[str, ...]]:
    """The texture of the piece, and that of each of its bars.

    Raises UsageError for a section that names a bar that is not there.
    """
    whole = plan.texture or suggest_texture(_main_meter(song), _tempo(song), level)
    textures = [whole] * len(song.bars)
    for number, section in enumerate(plan.sections, 1):
        for index in find_bars(song, section, number):
            textures[index] = section.texture or textures[index]
    return whole, tuple(textures)


def suggest_texture(meter: Meter, tempo_quarters_per_minute: Fraction, level: Level) -> str:
    """What players would take (common practice, no source)."""
    if level.accompaniment_shortest > EIGHTH:
        return "bare"
    if is_waltz(meter, tempo_quarters_per_minute) or is_march(meter, tempo_quarters_per_minute):
        return "bass-and-chord"
    if tempo_quarters_per_minute > _FASTEST_QUARTERS_PER_MINUTE:
        return "bare"
    return "running-eighths"


def is_waltz(meter: Meter, tempo_quarters_per_minute: Fraction) -> bool:
    is_in_three = meter.beats == 3  # noqa: PLR2004 - three-four, three-eight
    return is_in_three and tempo_quarters_per_minute / meter.pulse >= _WALTZ_PULSES_PER_MINUTE


def is_march(meter: Meter, tempo_quarters_per_minute: Fraction) -> bool:
    is_in_two = meter.beats == 2  # noqa: PLR2004 - two-four, two-two
    return is_in_two and tempo_quarters_per_minute >= _MARCH_QUARTERS_PER_MINUTE


def _tempo(song: Song) -> Fraction:
    return song.tempo_quarters_per_minute or DEFAULT_TEMPO_QUARTERS_PER_MINUTE


def _main_meter(song: Song) -> Meter:
    """That of the first whole bar."""
    whole = (bar.meter for bar in song.bars if not bar.is_pickup)
    return next(whole, song.bars[0].meter)


def join_sections(bars: Sequence[Bar], textures: Sequence[str]) -> list[tuple[Bar, Bar, str]]:
    """Neighbouring bars in one texture, from the first to the last."""
    joined: list[tuple[Bar, Bar, str]] = []
    for bar, texture in zip(bars, textures, strict=True):
        if joined and joined[-1][2] == texture:
            joined.append((joined.pop()[0], bar, texture))
        else:
            joined.append((bar, bar, texture))
    return joined
