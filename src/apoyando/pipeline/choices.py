"""What a player can choose from before a piece is made, or in one that is: keys, places, positions."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import partial

from apoyando.arranging import (
    Alternative,
    compare_keys,
    explain_prices,
    key_named,
    twelve_keys,
    weigh_note,
    weigh_positions,
)
from apoyando.model.arrangement import Arrangement
from apoyando.model.level import Level
from apoyando.model.locks import NoteLock
from apoyando.model.plan import Plan
from apoyando.model.prices import Prices
from apoyando.model.song import Song
from apoyando.pipeline.levels import find_level, make_ruler
from apoyando.pipeline.piece import Piece
from apoyando.reading import read_planned_song
from apoyando.report import ComparedKey
from apoyando.teaching import HardBar, choose_hard_bars, measure_difficulty


def name_keys(song: Song) -> tuple[str, ...]:
    """The tonics of the twelve keys that a song can be had in."""
    return tuple(str(key.tonic) for key in twelve_keys(song))


def compare_song_keys(
    data: bytes, file_name: str, plan: Plan, levels: Mapping[str, Level]
) -> tuple[ComparedKey, ...]:
    """The song in each key, or each capo that reaches the sounding key; the cheapest first.

    Raises SongError, UsageError.
    """
    level = find_level(plan, levels)
    look = partial(_find_hard_bars, level=level, hand_size=plan.hand_size)
    song = read_planned_song(data, file_name, plan)
    compared = compare_keys(song, plan, level, look, make_ruler(plan, levels))
    reasons = explain_prices(compared, Prices().turned(plan.prices))
    return tuple(ComparedKey(each, why) for each, why in zip(compared, reasons, strict=True))


def _find_hard_bars(arrangement: Arrangement, level: Level, hand_size: float) -> tuple[HardBar, ...]:
    return choose_hard_bars(measure_difficulty(arrangement, level, hand_size))


def settle_setup(plan: Plan, piece: Piece) -> Plan:
    """The plan with key, capo, tuning and part as they were chosen for it; the rest as it was.

    So the next question is asked of one key only, and the player can name places in it.
    """
    chosen = piece.plan
    return replace(plan, key=chosen.key, capo=chosen.capo, tuning=chosen.tuning, part=chosen.part)


def weigh_ways_of_note(
    song: Song,
    plan: Plan,
    levels: Mapping[str, Level],
    note: NoteLock,
    beside: Sequence[NoteLock] = (),
) -> tuple[Alternative, ...]:
    """Every place and finger for a note of a piece, with what each would cost, the cheapest first.

    ``plan`` is that of the piece, with its key; ``note`` names bar, beat and voice; ``beside`` keeps
    the notes struck together with it. Raises UsageError.
    """
    return weigh_note(song, plan, find_level(plan, levels), key_named(plan.key, song), note, beside)


def weigh_positions_of_bar(
    song: Song, plan: Plan, levels: Mapping[str, Level], bar: str
) -> tuple[Alternative, ...]:
    """Every position for a bar of a piece, by its printed number, as ``weigh_ways_of_note``."""
    return weigh_positions(song, plan, find_level(plan, levels), key_named(plan.key, song), bar)
