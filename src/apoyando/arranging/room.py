"""Room: where the tune lies so low that nothing fits between it and its bass.

An inner note lies a minor third under the tune at least, above the chord's own bass, and clear of
it (``voice_leading.count_too_low``). Where the strings have no such place nobody plays an inner note, and
none is missed much: what can be had all the same is welcome, and what cannot is nothing given up.
"""

from collections.abc import Callable
from dataclasses import replace

from apoyando.arranging.texture import Need, Window
from apoyando.arranging.voice_leading import count_too_low, is_wanted_bass
from apoyando.model.harmony import Chord, chord_tones
from apoyando.model.time import Span

_MINOR_THIRD, _OCTAVE = 3, 12


def leave_room(window: Window, tune_over: Callable[[Span], int], lowest: int) -> Window:
    """The window, with the inner notes marked for which there is no room.

    ``tune_over`` has the lowest MIDI note of the tune over a span, ``lowest`` is that of the open strings.
    """
    inner = tuple(
        due
        if not due.is_missed or has_room(due.chord, tune_over(due.span), lowest)
        else replace(due, need=Need.CRAMPED)
        for due in window.inner
    )
    return replace(window, inner=inner)


def has_room(chord: Chord, tune: int, lowest: int) -> bool:
    """Whether the chord's own bass and a tone clear above it both lie under a note of the tune."""
    tones = {tone.name.pitch_class for tone in chord_tones(chord)}
    return any(
        count_too_low(bass, inner) == 0
        for bass in range(lowest, tune)
        if is_wanted_bass(chord, bass)
        for inner in range(bass + 1, tune - _MINOR_THIRD + 1)
        if inner % _OCTAVE in tones
    )
