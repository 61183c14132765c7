"""What may stand before the song: its last phrase, or the dominant."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace

from apoyando.arranging.form.rows import Row, take_plainly
from apoyando.arranging.form.sections import begins_phrase
from apoyando.arranging.form.wanted_time import name_bars
from apoyando.model.form_steps import FormAct, FormStep
from apoyando.model.harmony import Chord
from apoyando.model.song import Bar, Barline, Song
from apoyando.model.time import Span

LAST_PHRASE = "last-phrase"

PHRASE_LENGTHS = (4, 8, 2, 3, 6, 5, 7)
"""How many bars a last phrase may have, the likeliest first (common practice, no source)."""
VAMP_BARS = 2


def introduce(song: Song, order: Sequence[int], kind: str) -> tuple[list[Row], tuple[FormStep]]:
    """The rows of the introduction, and the step that tells it; no rows where there can be none."""
    rows, step = _last_phrase(song, order) if kind == LAST_PHRASE else _dominant(song, order)
    return rows, (step,)


def _dominant(song: Song, order: Sequence[int]) -> tuple[list[Row], FormStep]:
    chord = Chord(root=song.key.tonic.transposed(1), kind="dominant")
    bar = next((song.bars[index] for index in order if not song.bars[index].is_pickup), song.bars[0])
    rows = [_vamp(song, bar, chord) for _ in range(VAMP_BARS)]
    sentence = "Two bars on the dominant, the accompaniment alone, as an introduction."
    return list(_marked(rows)), FormStep(act=FormAct.INTRODUCTION, sentence=sentence, times=VAMP_BARS)


def _vamp(song: Song, bar: Bar, chord: Chord) -> Row:
    length = bar.meter.bar_length
    plain = Bar(index=0, number="", span=Span(bar.onset, bar.onset + length), meter=bar.meter, key=song.key)
    return Row(bar=plain, source=None, length=length, chord=chord)


def _last_phrase(song: Song, order: Sequence[int]) -> tuple[list[Row], FormStep]:
    length = _find_length(song, order)
    taken = list(order[len(order) - length :])
    if not length:
        return [], _refuse("The song is too short to begin with its last phrase")
    if any(song.bars[index].key != song.key for index in taken):
        return [], _refuse("The last phrase is in another key than the beginning: it makes no introduction")
    rows = list(_marked(take_plainly(song, taken)))
    sentence = f"{name_bars(song, taken)} played first, as an introduction."
    return rows, FormStep(act=FormAct.INTRODUCTION, sentence=sentence, times=length)


def _find_length(song: Song, order: Sequence[int]) -> int:
    """As many bars as a phrase that begins with its bar, else four; none where the song has no more."""
    possible = [length for length in PHRASE_LENGTHS if length < len(order)]
    whole = (length for length in possible if begins_phrase(song, order[-length]))
    return next(whole, next(iter(possible), 0))


def _marked(rows: Iterable[Row]) -> Iterator[Row]:
    """The rows of an introduction, closed by a double bar; names of sections belong to the song."""
    *before, last = rows
    for row in (*before, replace(last, bar=replace(last.bar, barline=Barline.DOUBLE))):
        yield replace(row, bar=replace(row.bar, section=""), is_introduction=True)


def _refuse(why: str) -> FormStep:
    return FormStep(act=FormAct.NOT_DONE, sentence=f"{why}.")
