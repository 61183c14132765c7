"""From written note heads to one sung line: top voice, top note, ties merged.

In each bar the melody is the voice that lies highest (the first of them where two lie
equally high), of stacked notes the top one; voices that lie near and take turns in it are one
line. What lies under it is left out with a remark,
and so is a voice more than an octave lower that goes on where the melody rests.
"""

from collections.abc import Iterable, Sequence
from dataclasses import replace
from itertools import groupby, pairwise

from apoyando.model.bar_names import list_bars
from apoyando.model.beat import count_beat, name_count
from apoyando.model.form import play_order
from apoyando.model.song import Bar, MelodyNote, ReadingRemark, bar_at
from apoyando.model.time import Quarters, Span
from apoyando.reading.draft import DraftNote

_OCTAVE = 12
_MOST_PLACES = 8
"""More than so many are listed by their bars."""


def settle_melody(
    notes: Sequence[DraftNote], bars: tuple[Bar, ...]
) -> tuple[tuple[MelodyNote, ...], tuple[ReadingRemark, ...]]:
    """The melody, in order and without overlap, and what was left out for it."""
    ordered = sorted(notes, key=lambda note: (note.onset, -note.pitch.midi))
    top, left_out = _top_voices(ordered, bars)
    line, cut = _without_overlaps(_top_notes(top))
    melody, loose_ties = _merge_ties(line)
    stacked = len(top) - len(_top_notes(top))
    remarks = (
        *remark_on_notes(bars, left_out, "Notes of another voice under the melody are left out"),
        *remark_on_notes(
            bars, _lower_notes(top) if stacked else (), "Of notes on one stem the top one is the melody"
        ),
        *remark_on_notes(
            bars, cut, "Notes of one voice overlap: the higher one is kept, the other cut short"
        ),
        *remark_on_loose_ties(loose_ties, bars),
    )
    return melody, remarks


def _top_voices(notes: Sequence[DraftNote], bars: tuple[Bar, ...]) -> tuple[list[DraftNote], list[DraftNote]]:
    """In each bar the notes of the highest voice, and the others."""
    first_seen = {note.voice: place for place, note in reversed(list(enumerate(notes)))}
    kept: list[list[DraftNote]] = []
    left_out: list[DraftNote] = []
    for _, group in groupby(notes, key=lambda note: bar_at(bars, note.onset).index):
        in_bar = list(group)
        if _take_turns(in_bar):
            kept.append(in_bar)
            continue
        voices = sorted({note.voice for note in in_bar}, key=lambda voice: (first_seen[voice], voice))
        best = max(voices, key=lambda voice: _mean_height(note for note in in_bar if note.voice == voice))
        kept.append([note for note in in_bar if note.voice == best])
        left_out += [note for note in in_bar if note.voice != best]
    lower = {note.voice for note in left_out}
    tune = [note for line in kept for note in line if note.voice not in lower]
    alone = [line for line in kept if tune and line[0].voice in lower and _is_deep(line, tune)]
    left_out = sorted([*left_out, *(note for line in alone for note in line)], key=lambda note: note.onset)
    return [note for line in kept if line not in alone for note in line], left_out


def _take_turns(notes: Sequence[DraftNote]) -> bool:
    """Whether one voice in a bar goes on where another ends: single notes, never together, within an octave.

    A voice that comes in between the notes of another answers it, and is no tune.
    """
    lines = [list(line) for _, line in groupby(notes, key=lambda note: note.voice)]
    heights = [_mean_height(line) for line in lines]
    is_single = all(one.offset <= other.onset for one, other in pairwise(notes))
    is_handed_on = 1 < len(lines) == len({note.voice for note in notes})
    return is_single and is_handed_on and max(heights) - min(heights) <= _OCTAVE


def _is_deep(line: Sequence[DraftNote], tune: Sequence[DraftNote]) -> bool:
    """A voice that goes on under a resting tune sings on if it is near, as in a duet; a bass does not."""
    return _mean_height(line) < _mean_height(tune) - _OCTAVE


def _mean_height(notes: Iterable[DraftNote]) -> Quarters:
    """Mean pitch of the top notes, weighted by length."""
    top = _top_notes(list(notes))
    total = sum((note.duration for note in top), Quarters(0))
    return sum((note.pitch.midi * note.duration for note in top), Quarters(0)) / total


def _top_notes(notes: Sequence[DraftNote]) -> list[DraftNote]:
    """Of the notes that start together, the first: they are sorted from the top."""
    return [next(group) for _, group in groupby(notes, key=lambda note: note.onset)]


def _lower_notes(notes: Sequence[DraftNote]) -> list[DraftNote]:
    return [note for _, group in groupby(notes, key=lambda note: note.onset) for note in list(group)[1:]]


def _without_overlaps(notes: Sequence[DraftNote]) -> tuple[list[DraftNote], list[DraftNote]]:
    """Where a note starts before the last one ended, the higher one has its way."""
    line: list[DraftNote] = []
    cut: list[DraftNote] = []
    for note in notes:
        if line and line[-1].offset > note.onset:
            cut.append(note)
            if note.pitch.midi <= line[-1].pitch.midi:
                continue
            line[-1] = replace(line[-1], duration=note.onset - line[-1].onset, ties_on=False)
        line.append(note)
    return line, cut


def _merge_ties(notes: Sequence[DraftNote]) -> tuple[tuple[MelodyNote, ...], list[DraftNote]]:
    """Tied notes as one, and the notes whose tie leads nowhere."""
    melody: list[MelodyNote] = []
    loose: list[DraftNote] = []
    tied: DraftNote | None = None
    for note in notes:
        if tied and _is_tied(tied, note):
            melody[-1] = _prolonged(melody[-1], note)
        else:
            loose += [tied] if tied else []
            melody.append(_sung(note))
        tied = note if note.ties_on else None
    loose += [tied] if tied else []
    return tuple(melody), loose


def _is_tied(note: DraftNote, after: DraftNote) -> bool:
    return after.ties_back and note.offset == after.onset and note.pitch.midi == after.pitch.midi


def _sung(note: DraftNote) -> MelodyNote:
    return MelodyNote(
        span=Span(note.onset, note.offset),
        pitch=note.pitch,
        lyrics=note.lyrics,
        has_fermata=note.has_fermata,
    )


def _prolonged(note: MelodyNote, by: DraftNote) -> MelodyNote:
    return replace(
        note,
        span=Span(note.onset, by.offset),
        lyrics=note.lyrics or by.lyrics,
        has_fermata=note.has_fermata or by.has_fermata,
    )


def remark_on_loose_ties(notes: Sequence[DraftNote], bars: tuple[Bar, ...]) -> tuple[ReadingRemark, ...]:
    """Remarks on ties that no note goes on from; what is played next may be elsewhere on the page."""
    leaps = {bars[index].offset for index, after in pairwise(play_order(bars)) if after != index + 1}
    over = [note for note in notes if note.offset in leaps]
    nowhere = [note for note in notes if note.offset not in leaps]
    return (
        *remark_on_places(bars, nowhere, "A tie leads to no note of the same pitch and is left out"),
        *remark_on_places(
            bars, over, "A tie over a repeat or a jump is left out: the next note is struck anew"
        ),
    )


def remark_on_open_ties(notes: Iterable[DraftNote], bars: tuple[Bar, ...]) -> tuple[ReadingRemark, ...]:
    """A remark on notes of a song that are let ring: a tune is held as long as it is written."""
    ringing = [note for note in notes if note.lets_ring]
    return remark_on_places(bars, ringing, "An open tie (let ring) in a song is left out")


def remark_on_places(
    bars: tuple[Bar, ...], notes: Sequence[DraftNote], what: str
) -> tuple[ReadingRemark, ...]:
    """One remark that names each place, by its bar alone where they are many; none without notes."""
    if not 0 < len(notes) <= _MOST_PLACES:
        return remark_on_notes(bars, notes, what)
    places = [(bar_at(bars, note.onset), note.onset) for note in notes]
    named = (f"bar {bar.number}, beat {name_count(count_beat(bar, onset))}" for bar, onset in places)
    return (ReadingRemark(places[0][0].number, f"{what} ({'; '.join(dict.fromkeys(named))})."),)


def remark_on_notes(
    bars: tuple[Bar, ...], notes: Sequence[DraftNote], what: str
) -> tuple[ReadingRemark, ...]:
    """One remark for all bars concerned, none without notes."""
    if not notes:
        return ()
    numbers = [bar_at(bars, note.onset).number for note in notes]
    return (ReadingRemark(numbers[0], f"{what} ({list_bars(numbers)})."),)
