"""Arpeggio: the chord broken upwards, p i m a, one string after the other, and left to ring.

From each bass the inner notes rise line by line, and come down again where there is time: p i m
in two, p i m a in four, p i m a m i in six. Where the tune sounds it takes the place of the
highest string, and of the note at every moment at which it strikes.
"""

from collections.abc import Iterator
from itertools import chain, cycle

from apoyando.arranging.texture.dues import InnerDue, Laid, Lasting
from apoyando.arranging.texture.ground import MOST_INNER, Ground, basses, colour, spans_between, strong_onsets
from apoyando.arranging.texture.running_eighths import running_slots
from apoyando.model.time import Quarters, Span

_LEAST_STROKES = 4
"""A pattern shorter than p i m a is none: then it takes the whole bar."""


def lay_arpeggio(ground: Ground) -> Laid:
    onsets = _onsets(ground)
    bass = basses(ground, onsets)
    spans = spans_between(onsets, ground.span.offset)
    inner = tuple(chain.from_iterable(_rise(ground, span) for span in spans))
    return Laid(bass, inner or colour(ground, bass))


def _onsets(ground: Ground) -> list[Quarters]:
    strong = strong_onsets(ground)
    spans = spans_between(strong, ground.span.offset)
    is_short = any(span.duration < _LEAST_STROKES * ground.pace.shortest for span in spans)
    return strong[:1] if is_short else strong


def _rise(ground: Ground, span: Span) -> Iterator[InnerDue]:
    """The inner notes over one bass; each is let ring until its line is struck again or the bass is."""
    struck = list(_strokes(ground, span))
    for index, (slot, line) in enumerate(struck):
        again = (later.onset for later, other in struck[index + 1 :] if other == line)
        yield InnerDue(
            span=Span(slot.onset, next(again, span.offset)),
            chord=ground.chord,
            line=line,
            lasting=Lasting.RINGING,
            may_repeat=True,
            written_until=slot.offset,
        )


def _strokes(ground: Ground, span: Span) -> Iterator[tuple[Span, int]]:
    """When something is struck between bass and bass, and in which line."""
    slots = [
        slot
        for slot in running_slots(ground, [span.onset], ground.pace.shortest)
        if span.onset < slot.onset < span.offset
    ]
    lines = cycle(_up_and_down(MOST_INNER - ground.tune.sounds_in(span)))
    for slot, line in zip(slots, lines, strict=False):
        is_free = not ground.tune.strikes(slot.onset)
        if is_free and not ground.tune.is_in_triplets(slot.onset, ground.bar):
            yield Span(slot.onset, min(slot.offset, span.offset)), line


def _up_and_down(lines: int) -> list[int]:
    """0 1 2 1 of three lines."""
    return [*range(lines), *range(lines - 2, 0, -1)]
