"""A ``Draft`` settled into a ``Song``, or the errors that say why it cannot be.

The laws of ``Song`` are checked on the way out: whatever a file holds, what leaves here
obeys them.
"""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from fractions import Fraction
from itertools import groupby, pairwise
from math import ceil
from typing import TypedDict

from apoyando.model.chord_text import write_chord_symbol
from apoyando.model.errors import MissingHarmonyError, Problem, UnreadableSongError
from apoyando.model.harmony import Chord, HarmonySpan
from apoyando.model.song import Bar, ReadingRemark, Song, bar_at
from apoyando.model.time import Quarters, Span, Spanned
from apoyando.reading.bar_lengths import settle_bar_lengths
from apoyando.reading.chord_places import place_chords
from apoyando.reading.draft import Draft, DraftChord
from apoyando.reading.form import settle_form
from apoyando.reading.melody_line import remark_on_notes, remark_on_open_ties, settle_melody

SHORTEST_CHORD_QUARTERS = Quarters(1, 2)
"""Chords crowded on one note share its time down to an eighth each; beyond that the first one stays."""


def assemble_song(draft: Draft, file_name: str, how_to_write_chords: str) -> Song:
    """The song of a draft.

    Raises UnreadableSongError if there are no notes, MissingHarmonyError if there are no
    chord symbols; ``how_to_write_chords`` is the remedy in terms of the format.
    """
    song = assemble_melody(draft, file_name)
    if not any(span.chord for span in song.harmony):
        what = "The melody is there, but there are no chord symbols: the harmony is missing."
        raise MissingHarmonyError(file_name, (Problem("", what, how_to_write_chords),))
    return song


def assemble_melody(draft: Draft, file_name: str) -> Song:
    """The song of a draft, with or without harmony. Raises UnreadableSongError without notes."""
    if not draft.notes:
        raise UnreadableSongError(file_name, (Problem("", "There are no notes in it.", _NO_NOTES),))
    bars, bar_remarks = settle_bars(draft)
    melody, melody_remarks = settle_melody(draft.notes, bars)
    chords, place_remarks = place_chords(draft.chords, melody, bars)
    harmony, harmony_remarks = settle_harmony(chords, melody, bars)
    harmonics = [note for note in draft.notes if note.is_harmonic]
    ordinary = remark_on_notes(bars, harmonics, "Harmonics in a song are read as ordinary notes")
    remarks = (
        *draft.remarks,
        *bar_remarks,
        *melody_remarks,
        *remark_on_open_ties(draft.notes, bars),
        *ordinary,
        *place_remarks,
        *harmony_remarks,
    )
    song = Song(
        **heading_of(draft),
        bars=bars,
        melody=melody,
        harmony=harmony,
        remarks=order_remarks(remarks, bars),
    )
    _check_laws(song)
    return song


class HeadingFields(TypedDict):
    """What stands over the music, as ``Song`` and ``Score`` have it."""

    title: str
    composer: str
    lyricist: str
    rights: str
    tempo_quarters_per_minute: Fraction | None
    tempo_words: str


def heading_of(draft: Draft) -> HeadingFields:
    """The heading, carried over as it is."""
    return {
        "title": draft.title,
        "composer": draft.composer,
        "lyricist": draft.lyricist,
        "rights": draft.rights,
        "tempo_quarters_per_minute": draft.tempo_quarters_per_minute,
        "tempo_words": draft.tempo_words,
    }


def settle_bars(draft: Draft) -> tuple[tuple[Bar, ...], tuple[ReadingRemark, ...]]:
    """The bars numbered, with their form and lengths settled, and what was put right in them."""
    bars, form_remarks = settle_form(draft.bars, double_bars_bound_repeats=draft.double_bars_bound_repeats)
    bars, length_remarks = settle_bar_lengths(bars)
    return bars, (*form_remarks, *length_remarks)


_NO_NOTES = "Write the melody and save the file again."


def order_remarks(remarks: Sequence[ReadingRemark], bars: tuple[Bar, ...]) -> tuple[ReadingRemark, ...]:
    """Each once, in the order of the bars; those on the whole piece first."""
    places = {bar.number: bar.index for bar in reversed(bars)}
    return tuple(sorted(dict.fromkeys(remarks), key=lambda remark: places.get(remark.bar, -1)))


def settle_harmony(
    chords: Sequence[DraftChord], melody: Sequence[Spanned], bars: tuple[Bar, ...]
) -> tuple[tuple[HarmonySpan, ...], tuple[ReadingRemark, ...]]:
    """Each chord lasts to the next one, the last to the end of the piece.

    ``melody`` tells over which note several chords at one moment are crowded.
    """
    end = bars[-1].offset
    inside = sorted((chord for chord in chords if chord.onset < end), key=lambda chord: chord.onset)
    spread, remarks = _spread_crowded(inside, melody, bars)
    offsets = [*(chord.onset for chord in spread[1:]), end][: len(spread)]
    spans = tuple(
        HarmonySpan(Span(chord.onset, offset), chord.chord, chord.origin)
        for chord, offset in zip(spread, offsets, strict=True)
    )
    return spans, remarks


def _spread_crowded(
    chords: Sequence[DraftChord], melody: Sequence[Spanned], bars: tuple[Bar, ...]
) -> tuple[list[DraftChord], tuple[ReadingRemark, ...]]:
    """Several chords written at one moment share the time of the note that they stand over."""
    spread: list[DraftChord] = []
    remarks: list[ReadingRemark] = []
    for onset, group in groupby(chords, key=lambda chord: chord.onset):
        crowd = _distinct(list(group))
        if len(crowd) == 1:
            spread += crowd
            continue
        pulse = bar_at(bars, onset).meter.pulse
        placed = _share_time(crowd, _next_moment(onset, chords, melody, bars), pulse)
        spread += placed
        remarks.append(ReadingRemark(bar_at(bars, onset).number, _describe_crowd(crowd, placed)))
    return spread, tuple(remarks)


def _distinct(crowd: Sequence[DraftChord]) -> list[DraftChord]:
    """Without what says the same again, and without N.C. beside a chord."""
    named = [chord for chord in crowd if chord.chord] or list(crowd)
    return list({_meaning(chord.chord): chord for chord in reversed(named)}.values())[::-1]


def _meaning(chord: Chord | None) -> str:
    return write_chord_symbol(chord) if chord else ""


def _next_moment(
    onset: Quarters,
    chords: Sequence[DraftChord],
    melody: Sequence[Spanned],
    bars: tuple[Bar, ...],
) -> Quarters:
    """The next chord, note or barline after a moment."""
    bar_end = bar_at(bars, onset).offset
    later = (chord.onset for chord in chords if onset < chord.onset < bar_end)
    struck = (note.onset for note in melody if onset < note.onset < bar_end)
    return min((*later, *struck), default=bar_end)


def _share_time(crowd: list[DraftChord], until: Quarters, pulse: Quarters) -> list[DraftChord]:
    """Each a like share, counted in whole pulses, in eighths where these are too few; what is over goes before."""
    length = until - crowd[0].onset
    share = length / len(crowd)
    if share < SHORTEST_CHORD_QUARTERS:
        return crowd[:1]
    unit = pulse if share >= pulse else SHORTEST_CHORD_QUARTERS
    return [
        replace(chord, onset=chord.onset + ceil(place * share / unit) * unit)
        for place, chord in enumerate(crowd)
    ]


def _describe_crowd(crowd: Sequence[DraftChord], placed: Sequence[DraftChord]) -> str:
    names = ", ".join(_meaning(chord.chord) for chord in crowd)
    if len(placed) < len(crowd):
        return f"The chords {names} stand at the same place: only the first is read."
    return f"The chords {names} stand at the same place: they share the time of the note."


def _check_laws(song: Song) -> None:
    """A breach is a bug of the reader."""
    broken = [law for law, holds in _laws(song) if not holds]
    if broken:
        message = f"the song read from this file breaks a law: {', '.join(broken)}"
        raise AssertionError(message)


def _laws(song: Song) -> Iterator[tuple[str, bool]]:
    bars, melody, harmony = song.bars, song.melody, song.harmony
    yield "bars start at 0", bars[0].onset == 0
    yield "bars follow each other", all(one.offset == other.onset for one, other in pairwise(bars))
    yield "bars are counted", all(bar.index == place for place, bar in enumerate(bars))
    yield "notes do not overlap", all(one.offset <= other.onset for one, other in pairwise(melody))
    yield "notes lie in the bars", melody[0].onset >= 0 and melody[-1].offset <= song.duration
    yield "chords do not overlap", all(one.offset <= other.onset for one, other in pairwise(harmony))
    yield "chords lie in the bars", not harmony or harmony[0].onset >= 0
