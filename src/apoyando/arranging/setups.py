"""Setups: the key of the page, the fret of the capo, the tuning of the strings."""

from collections.abc import Iterator
from dataclasses import dataclass, replace

from apoyando.arranging.keys import key_named, raised, signature_price, twelve_keys
from apoyando.model.errors import UsageError
from apoyando.model.instrument import STANDARD_TUNING, TUNINGS
from apoyando.model.pitch import Key
from apoyando.model.plan import HIGHEST_CAPO, Plan
from apoyando.model.prices import Prices
from apoyando.model.song import Song

HIGHEST_CHOSEN_CAPO = 5
"""Farther up a guitar sounds like a smaller one, and its frets stand close (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Setup:
    """One way to have a song on the guitar. ``key`` is that of the page; it sounds ``capo`` semitones higher."""

    key: Key
    capo: int
    tuning: str

    @property
    def sounding_key(self) -> Key:
        return raised(self.key, self.capo)

    @property
    def is_retuned(self) -> bool:
        return self.tuning != STANDARD_TUNING.name

    def __str__(self) -> str:
        """As players say it: "D, drop-d, capo 2"."""
        capo = f", capo {self.capo}" if self.capo else ""
        return f"{self.key.tonic}{f', {self.tuning}' if self.is_retuned else ''}{capo}"


def list_setups(song: Song, plan: Plan) -> tuple[Setup, ...]:
    """Every setup that the plan leaves open.

    Raises UsageError for a key that there is not, and where key, capo and sounding key of the
    plan do not agree.
    """
    tunings = (plan.tuning,) if plan.tuning else tuple(TUNINGS)
    pages = tuple(_list_pages(song, plan))
    return tuple(Setup(key, capo, tuning) for tuning in tunings for key, capo in pages)


def choose_setup(plan: Plan, setup: Setup) -> Plan:
    """The plan with this setup."""
    return replace(plan, key=str(setup.key.tonic), capo=setup.capo, tuning=setup.tuning)


def _list_pages(song: Song, plan: Plan) -> Iterator[tuple[Key, int]]:
    """Keys of the page, each with its capo."""
    if plan.sounding:
        yield from _list_shapes(song, plan, key_named(plan.sounding, song))
    elif plan.key:
        yield key_named(plan.key, song), plan.capo
    else:
        yield from ((key, plan.capo) for key in twelve_keys(song))


def _list_shapes(song: Song, plan: Plan, sounding: Key) -> Iterator[tuple[Key, int]]:
    """The keys whose shapes reach the sounding key with a capo."""
    if plan.key:
        key = key_named(plan.key, song)
        yield key, _capo_between(key, sounding, plan)
        return
    for capo in (plan.capo,) if plan.capo else range(HIGHEST_CHOSEN_CAPO + 1):
        yield raised(sounding, -capo), capo


def _capo_between(key: Key, sounding: Key, plan: Plan) -> int:
    """Where the capo lies for the key of the page to sound as it must. Raises UsageError."""
    capo = (sounding.tonic.pitch_class - key.tonic.pitch_class) % 12
    if capo > HIGHEST_CAPO or plan.capo not in {0, capo}:
        needs = f"needs the capo at fret {capo}" if capo <= HIGHEST_CAPO else "is out of reach of a capo"
        raise UsageError(
            f'sounding = "{plan.sounding}" {needs} with key = "{plan.key}"'
            f"{f', and the plan has it at fret {plan.capo}' if plan.capo else ''}. "
            "Take the key or the capo out, and it is chosen."
        )
    return capo


def setup_price(song: Song, setup: Setup, prices: Prices) -> int:
    """What a setup costs besides the notes: reading its signature, a string retuned, a capo."""
    retuned = prices.string_retuned + prices.retuned_string_per_bar * len(song.bars)
    capo = prices.capo_set + prices.capo_per_fret * setup.capo
    return (
        signature_price(song, setup.key, prices)
        + (retuned if setup.is_retuned else 0)
        + (capo if setup.capo else 0)
    )
