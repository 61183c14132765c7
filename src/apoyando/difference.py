"""What is different between one piece of a song and the next, told to the player."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction

from apoyando.model.arrangement import Arrangement, GivenUpHold, Note
from apoyando.model.bar_names import list_bars
from apoyando.model.song import bar_at

Played = tuple[object, ...]
"""A note as it is played, seen from the start of its bar."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Difference:
    """From one arrangement to another of the same song, by printed numbers of bars of the second.

    ``bars`` are those whose notes, places, fingers or lengths are other ones.
    """

    setup: tuple[str, ...]
    bars: tuple[str, ...]
    all_bars: int
    holds_lost: tuple[GivenUpHold, ...]
    holds_won: tuple[GivenUpHold, ...]

    @property
    def sentences(self) -> tuple[str, ...]:
        """For the player; "Nothing changed." where nothing did."""
        told = (*self.setup, *_tell_bars(self), *_tell_holds(self))
        return told or ("Nothing changed.",)


def find_difference(before: Arrangement, after: Arrangement) -> Difference:
    old, new = _play_bars(before), _play_bars(after)
    lost, won = set(after.given_up_holds), set(before.given_up_holds)
    return Difference(
        setup=tuple(_tell_setup(before, after)),
        bars=tuple(number for number, played in new.items() if played != old.get(number)),
        all_bars=len(after.bars),
        holds_lost=tuple(hold for hold in after.given_up_holds if hold not in won),
        holds_won=tuple(hold for hold in before.given_up_holds if hold not in lost),
    )


def _play_bars(arrangement: Arrangement) -> Mapping[str, frozenset[Played]]:
    played: dict[str, set[Played]] = {bar.number: set() for bar in arrangement.bars}
    for note in arrangement.notes:
        bar = bar_at(arrangement.bars, note.onset)
        played[bar.number].add(_see_from(bar.onset, note))
    return {number: frozenset(notes) for number, notes in played.items()}


def _see_from(onset: Fraction, note: Note) -> Played:
    return (note.role, note.onset - onset, note.span.duration, note.pitch, note.place, note.finger)


def _tell_setup(before: Arrangement, after: Arrangement) -> Iterable[str]:
    pairs = (
        ("key", str(before.key), str(after.key)),
        ("capo", str(before.capo or "none"), str(after.capo or "none")),
        ("tuning", before.tuning.name, after.tuning.name),
        ("level", before.level, after.level),
        ("texture", before.texture, after.texture),
        ("bars", str(len(before.bars)), str(len(after.bars))),
    )
    return (f"The {what}: {new}, before {old}." for what, old, new in pairs if old != new)


def _tell_bars(difference: Difference) -> Iterable[str]:
    if not difference.bars:
        return
    if len(difference.bars) == difference.all_bars:
        yield "Every bar is played otherwise."
    else:
        yield f"Played otherwise: {list_bars(difference.bars)}."


def _tell_holds(difference: Difference) -> Iterable[str]:
    if difference.holds_lost:
        yield f"Let go before its written end: {_name_holds(difference.holds_lost)}."
    if difference.holds_won:
        yield f"Held again to its end: {_name_holds(difference.holds_won)}."


def _name_holds(holds: Iterable[GivenUpHold]) -> str:
    return ", ".join(f"{hold.pitch} in bar {hold.bar}" for hold in holds)
