"""Which notes share a beam.

Eighths are beamed by half bars in 4/4 and by pulses elsewhere; where something shorter or
a tuplet is among them, by beats. A beam ends at a silence. (Common practice, no source.)
"""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import groupby

from apoyando.engraving.notation.meter import Node, bar_node
from apoyando.engraving.notation.rhythm import Tuplet
from apoyando.engraving.notation.values import NoteValue
from apoyando.model.song import Meter
from apoyando.model.time import Quarters

EIGHTH = Fraction(1, 2)
LONGEST_BEAM = Fraction(2)
"""Quarters under one beam: half a 4/4 bar."""


@dataclass(frozen=True, slots=True)
class Beamable:
    """What the beam needs to know of an event. ``onset`` is quarters from the downbeat."""

    onset: Quarters
    value: NoteValue
    tuplet: Tuplet | None
    is_rest: bool


def beam_groups(events: Sequence[Beamable], meter: Meter) -> tuple[tuple[int, ...], ...]:
    """Places of neighbours under one beam, for one voice in one bar; every group has at least two."""
    runs = groupby(enumerate(_beam_keys(events, meter)), key=lambda pair: pair[1])
    groups = (tuple(place for place, _ in run) for key, run in runs if key is not None)
    return tuple(group for group in groups if len(group) > 1)


def _beam_keys(events: Sequence[Beamable], meter: Meter) -> list[Quarters | None]:
    """For each event where its beam span begins, None if it takes no beam."""
    keys: list[Quarters | None] = []
    tuplet_onset = Fraction(0)
    for event in events:
        if event.tuplet and event.tuplet.starts:
            tuplet_onset = event.onset
        if event.is_rest or event.value.base > EIGHTH:
            keys.append(None)
        elif event.tuplet:
            keys.append(tuplet_onset)
        else:
            keys.append(_beam_span(event, events, meter).onset)
    return keys


def _beam_span(event: Beamable, events: Sequence[Beamable], meter: Meter) -> Node:
    """The widest node around an event that may have one beam."""
    node = bar_node(meter, event.onset)
    while not _may_have_one_beam(node, events):
        node = next(part for part in node.parts if part.onset <= event.onset < part.offset)
    return node


def _may_have_one_beam(node: Node, events: Sequence[Beamable]) -> bool:
    if node.is_beat:
        return True
    inside = [event for event in events if node.onset <= event.onset < node.offset]
    is_quiet = all(event.tuplet is None and (event.is_rest or event.value.base >= EIGHTH) for event in inside)
    return node.length <= LONGEST_BEAM and is_quiet
