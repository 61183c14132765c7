"""Laying a texture: every window of a song with what is due in it."""

from bisect import bisect_left, bisect_right
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import pairwise

from apoyando.arranging.texture.alternating_bass import lay_alternating_bass
from apoyando.arranging.texture.arpeggio import lay_arpeggio
from apoyando.arranging.texture.bare import lay_bare
from apoyando.arranging.texture.bass_and_chord import lay_bass_and_chord
from apoyando.arranging.texture.block_chords import lay_block_chords
from apoyando.arranging.texture.closing import lay_closing
from apoyando.arranging.texture.dues import Laid, Window
from apoyando.arranging.texture.ground import Ground, Pace, Tune
from apoyando.arranging.texture.running_eighths import lay_running_eighths
from apoyando.arranging.texture.sustained import lay_sustained
from apoyando.model.form import play_order
from apoyando.model.harmony import Chord, HarmonySpan
from apoyando.model.song import Bar, Song
from apoyando.model.time import Quarters, Span

_LAYERS: Mapping[str, Callable[[Ground], Laid]] = {
    "running-eighths": lay_running_eighths,
    "arpeggio": lay_arpeggio,
    "block-chords": lay_block_chords,
    "bass-and-chord": lay_bass_and_chord,
    "alternating-bass": lay_alternating_bass,
    "bare": lay_bare,
    "sustained": lay_sustained,
}
_KEPT = 8
"""A piece, and the same for the next harder levels; before it another piece."""
_SHORTEST_CLOSE = Quarters(1)
"""In a metre of longer pulses the tune rests on a last note that leaves room for its pickup, as a quarter in 6/8."""
_SHORTEST_BEFORE_CLOSING = Quarters(1)
"""A bass less than a quarter old is held on, and the chord is struck with it."""


@lru_cache(_KEPT)
def lay_textures(
    song: Song, textures: tuple[str, ...], pace: Pace, *, must_close: bool = False
) -> tuple[Window, ...]:
    """Every window of the song with what is due in it; ``textures`` has the name of each bar's.

    ``must_close``: the piece closes with a chord even where there is hardly time for one. Kept, for the
    twelve keys of a song differ in their chords alone (``Window.transposed``).
    """
    tune, rests = Tune(song.bars, song.melody), _resting_places(song, must_close=must_close)
    return tuple(
        _lay_window(Ground(bar=bar, span=span, chord=chord, tune=tune, pace=pace), texture, rests)
        for bar, texture in zip(song.bars, textures, strict=True)
        if not bar.is_pickup
        for span, chord in _chords_in(bar, song.harmony)
    )


def _chords_in(bar: Bar, harmony: Sequence[HarmonySpan]) -> list[tuple[Span, Chord]]:
    """The bar's chords from when to when; a chord that is written again goes on."""
    chords: list[tuple[Span, Chord]] = []
    first = bisect_right(harmony, bar.onset, key=lambda h: h.offset)
    for h in harmony[first : bisect_left(harmony, bar.offset, key=lambda h: h.onset)]:
        if not h.chord:
            continue
        onset, offset = max(bar.onset, h.onset), min(bar.offset, h.offset)
        if chords and chords[-1][0].offset == onset and chords[-1][1].is_same_as(h.chord):
            onset = chords.pop()[0].onset
        chords.append((Span(onset, offset), h.chord))
    return chords


def _resting_places(song: Song, *, must_close: bool) -> tuple[Span, ...]:
    """Where the tune comes to rest: notes with a fermata, and its last note in the last bar that is played."""
    bar = song.bars[play_order(song.bars)[-1]]
    ends = [note.onset for note in song.melody if note.span.overlaps(bar.span)]
    last = Span(max([bar.onset, *ends]), bar.offset)
    fermatas = [note.span for note in song.melody if note.has_fermata]
    if not must_close and last.duration < min(bar.meter.pulse, _SHORTEST_CLOSE):
        return tuple(fermatas)
    return (*(fermata for fermata in fermatas if not fermata.overlaps(last)), last)


@dataclass(frozen=True, slots=True)
class _Stretch:
    """A part of a window, and how it is laid."""

    span: Span
    lay: Callable[[Ground], Laid]


def _lay_window(ground: Ground, texture: str, rests: Iterable[Span]) -> Window:
    lay = _LAYERS[texture]
    laid = [
        stretch.lay(replace(ground, span=stretch.span, is_entry=stretch.span.onset == ground.span.onset))
        for stretch in _stretches(ground, lay, rests)
    ]
    bass = tuple(due for each in laid for due in each.bass)
    inner = tuple(due for each in laid for due in each.inner)
    return Window(ground.span, ground.chord, bass, inner, is_told=bool(inner) or lay is not lay_bare)


def _stretches(ground: Ground, lay: Callable[[Ground], Laid], rests: Iterable[Span]) -> Iterator[_Stretch]:
    """The window cut where the tune comes to rest and where it goes on."""
    whole = ground.span
    closed = [
        Span(_begin_of_rest(ground, lay, rest), min(rest.offset, whole.offset))
        for rest in rests
        if rest.overlaps(whole)
    ]
    cuts = sorted({whole.onset, whole.offset, *(s.onset for s in closed), *(s.offset for s in closed)})
    for onset, offset in pairwise(cuts):
        is_closed = any(span.contains(onset) for span in closed)
        yield _Stretch(Span(onset, offset), lay_closing if is_closed else lay)


def _begin_of_rest(ground: Ground, lay: Callable[[Ground], Laid], rest: Span) -> Quarters:
    """Where the chord is struck: with the tune, or with a bass that has only just been struck."""
    moment = max(rest.onset, ground.span.onset)
    last = max(due.span.onset for due in lay(ground).bass if due.span.onset <= moment)
    return last if moment - last < _SHORTEST_BEFORE_CLOSING else moment
