"""The player's own chords in place of those that are written or found."""

from collections.abc import Sequence
from dataclasses import replace

from apoyando.model.errors import UsageError
from apoyando.model.harmony import ChordOrigin, HarmonySpan
from apoyando.model.plan import ChordChange
from apoyando.model.song import Song
from apoyando.model.time import Quarters, Span
from apoyando.reading.chord_symbols import read_chord_symbol
from apoyando.reading.named_places import place_changes


def change_chords(song: Song, changes: Sequence[ChordChange]) -> Song:
    """The song with each change from its beat on, to the next chord or change.

    Raises UsageError for a bar, beat or symbol that there is not, and for two changes at one place.
    """
    placed = place_changes(song, changes, "chord")
    spans = song.harmony
    for moment, change in placed:
        spans = _put(spans, moment, change, song.duration)
    return replace(song, harmony=spans) if placed else song


def _put(
    spans: tuple[HarmonySpan, ...], moment: Quarters, change: ChordChange, end: Quarters
) -> tuple[HarmonySpan, ...]:
    """The change up to the next chord; what it falls into is cut short."""
    reading = read_chord_symbol(change.symbol)
    if reading is None or reading.ignored:
        raise UsageError(f'the chord "{change}" cannot be read: write it as Am7, G/B or N.C.')
    before = [
        span if span.offset <= moment else replace(span, span=Span(span.onset, moment))
        for span in spans
        if span.onset < moment
    ]
    after = [span for span in spans if span.onset > moment]
    until = after[0].onset if after else end
    return (*before, HarmonySpan(Span(moment, until), reading.chord, ChordOrigin.PLAYER), *after)
