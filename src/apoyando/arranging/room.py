"""Room: where the tune leaves none for an inner note, because it lies too low or passes high over open strings.

An inner note lies a minor third under the tune at least, above the chord's own bass, and clear of
it (``voice_leading.count_too_low``). Where the strings have no such place nobody plays an inner note, and
none is missed much: what can be had all the same is welcome, and what cannot is nothing given up. Under a
peak, which the level has pass over open strings, the strings have only those places.
"""

from collections.abc import Callable, Collection
from dataclasses import replace

from apoyando.arranging.texture import InnerDue, Need, Window
from apoyando.arranging.voice_leading import count_too_low, is_wanted_bass
from apoyando.model.harmony import Chord, chord_tones
from apoyando.model.instrument import Tuning
from apoyando.model.time import Span

_MINOR_THIRD, _OCTAVE = 3, 12


def leave_room(
    window: Window, tune_over: Callable[[Span], int], tuning: Tuning, peaks: Collection[Span]
) -> Window:
    """The window, with the inner notes marked for which there is no room.

    ``tune_over`` has the lowest MIDI note of the tune over a span, ``peaks`` are the spans of its peaks.
    """

    def leaves_room(due: InnerDue) -> bool:
        tune = tune_over(due.span)
        is_under_peak = any(due.span.overlaps(peak) for peak in peaks)
        # The tune itself lies on the highest string then.
        under_peak = sorted(tuning.open_strings)[:-1]
        notes = under_peak if is_under_peak else range(min(tuning.open_strings), tune)
        return has_room(due.chord, tune, notes)

    inner = tuple(
        due if not due.is_missed or leaves_room(due) else replace(due, need=Need.CRAMPED)
        for due in window.inner
    )
    return replace(window, inner=inner)


def has_room(chord: Chord, tune: int, notes: Collection[int]) -> bool:
    """Whether the chord's own bass and a tone clear above it, both among some notes, lie under a note of the tune."""
    return has_room_for({tone.name.pitch_class for tone in chord_tones(chord)}, chord, tune, notes)


def has_room_for(tones: Collection[int], chord: Chord, tune: int, notes: Collection[int]) -> bool:
    """As ``has_room``, for a tone of these pitch classes."""
    return any(
        bass < inner <= tune - _MINOR_THIRD and inner % _OCTAVE in tones and count_too_low(bass, inner) == 0
        for bass in notes
        if is_wanted_bass(chord, bass)
        for inner in notes
    )
