"""Which notes carry the line, as the price of leaving each out.

The rule is common practice without a published source: the tune is where the meter is strong,
where the harmony is, where the line turns or leaps, where notes are long, where a syllable is
sung; what passes by step, or ornaments a note, is not missed.
"""

from bisect import bisect_right
from collections.abc import Sequence

from apoyando.arranging.simplification.cells import Cell, is_on_pulse
from apoyando.model.harmony import HarmonySpan, chord_tones
from apoyando.model.phrase import is_long, is_ornament, split_phrases
from apoyando.model.prices import Prices
from apoyando.model.song import MelodyNote, Song


def find_fixed(melody: Sequence[MelodyNote]) -> frozenset[int]:
    """The indices of the notes that stay.

    Of each phrase the first and the last note, whatever they are, and the highest and the lowest
    that are no ornaments (of several the first); long notes; notes with a fermata.
    """
    fixed: set[int] = set()
    first = 0
    for phrase in split_phrases(melody):
        fixed |= {first + index for index in _fixed_in_phrase(phrase)}
        first += len(phrase)
    return frozenset(fixed)


def _fixed_in_phrase(phrase: Sequence[MelodyNote]) -> set[int]:
    indices = range(len(phrase))
    ends = {0, indices[-1]}
    line = [i for i in indices if i in ends or not is_ornament(phrase[i])]
    highest = max(line, key=lambda i: phrase[i].pitch.midi)
    lowest = min(line, key=lambda i: phrase[i].pitch.midi)
    staying = {i for i in indices if is_long(phrase[i]) or phrase[i].has_fermata}
    return ends | {highest, lowest} | staying


def price_drops(song: Song, cell: Cell, fixed: frozenset[int], prices: Prices) -> list[int | None]:
    """What it costs to leave out each note of a cell; None for one that stays."""
    indices = range(cell.first, cell.first + len(cell.notes))
    return [None if index in fixed else _price_drop(song, cell, index, prices) for index in indices]


def _price_drop(song: Song, cell: Cell, index: int, prices: Prices) -> int:
    note = song.melody[index]
    by_length = round(prices.melody_note_dropped_per_quarter * note.duration)
    if is_ornament(note):
        return by_length
    # The tone of a repetition still sounds where it is left out.
    is_new = not _is_repeated(song.melody, index)
    reasons = (
        (prices.melody_pulse_note_dropped, is_on_pulse(song, note.onset)),
        (prices.melody_corner_dropped, is_new and not _is_passing(song.melody, index)),
        (prices.melody_chord_tone_dropped, is_new and _is_chord_tone(song.harmony, note)),
        (prices.melody_syllable_dropped, bool(note.lyrics)),
        (prices.melody_upbeat_dropped, note is cell.notes[-1]),
    )
    return prices.melody_note_dropped + by_length + sum(price for price, holds in reasons if holds)


def _is_repeated(melody: Sequence[MelodyNote], index: int) -> bool:
    return index > 0 and melody[index - 1].pitch == melody[index].pitch


def _is_passing(melody: Sequence[MelodyNote], index: int) -> bool:
    """Whether the line goes through a note by step, and on in the same direction."""
    heights = [note.pitch.staff_height for note in melody[max(index - 1, 0) : index + 2]]
    return len(heights) == 3 and heights[1] - heights[0] == heights[2] - heights[1] in {1, -1}  # noqa: PLR2004 - a note and those beside it


def _is_chord_tone(harmony: Sequence[HarmonySpan], note: MelodyNote) -> bool:
    at = bisect_right(harmony, note.onset, key=lambda span: span.onset) - 1
    span = harmony[at] if at >= 0 else None
    if span is None or span.chord is None or span.offset <= note.onset:
        return False
    return note.pitch.midi % 12 in {tone.name.pitch_class for tone in chord_tones(span.chord)}
