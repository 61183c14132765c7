"""Every bar of the piece is a bar of the song, and they are played in the song's order but for the steps.

The song is laid out once more, bar by bar, from what the arrangement lists of its form: the
other rules are proven against that song. Conventions: as in ``Form``.
"""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import pairwise

from apoyando.model.arrangement import Arrangement, Role
from apoyando.model.form import play_order
from apoyando.model.form_steps import Form, FormAct
from apoyando.model.harmony import Chord, HarmonySpan
from apoyando.model.song import Bar, MelodyNote, Song
from apoyando.model.time import Quarters, Span
from apoyando.proofing.certificate import Breach, Proof, Refutation, Rule, Witness, decide
from apoyando.proofing.wording import show_breach


def prove_form(arrangement: Arrangement, song: Song) -> Proof | Refutation:
    """The bars of the piece, in the order of play, are the song's in its order of play.

    But for the listed steps (none where the form is the song's own): what is left out, what
    comes again at the end, an introduction that is the end of the song or the dominant chord.
    Nothing is left out under a note that is held on; a bar is shorter only before an upbeat,
    where nothing begins; a listed ending is there.
    """
    proof = Proof(rule=Rule.FORM, notes_checked=len(arrangement.notes), moments_checked=len(arrangement.bars))
    form = arrangement.form or Form(tuple(range(len(song.bars))), ())
    if not arrangement.bars or (arrangement.form is None and len(arrangement.bars) != len(song.bars)):
        return proof  # that the bars differ is for the rule of the bars to say
    if not _fits(form, arrangement.bars, song):
        fault = "the form does not name a bar of the song for each bar of the piece"
        return decide(proof, [_witness(arrangement, arrangement.bars[0], Breach.FORM_SOURCE, fault)])
    return decide(
        proof,
        [
            *_wrong_order(arrangement, form, song),
            *_wrong_introduction(arrangement, form, song),
            *_cut_sections(arrangement, form, song),
            *_wrong_upbeats(arrangement, form, song),
            *_missing_endings(arrangement, form),
        ],
    )


def _fits(form: Form, bars: Sequence[Bar], song: Song) -> bool:
    are_there = all(source is None or 0 <= source < len(song.bars) for source in form.sources)
    return len(form.sources) == len(bars) and are_there


def _witness(arrangement: Arrangement, bar: Bar, breach: Breach, fault: str) -> Witness:
    return show_breach(arrangement.bars, breach, bar.span, fault)


# --- the order of play ---------------------------------------------------------------


def _count_introduction(form: Form) -> int:
    return sum(step.times for step in form.steps if step.act is FormAct.INTRODUCTION)


def _wrong_order(arrangement: Arrangement, form: Form, song: Song) -> Iterator[Witness]:
    """Walk through the song and the piece together, and stop where they part."""
    before = _count_introduction(form)
    played = play_order(arrangement.bars)
    wanted = [*range(before), *_apply_steps(form, play_order(song.bars))]
    for place, index in enumerate(played):
        found = index if place < before else form.sources[index]
        if place >= len(wanted) or found != wanted[place]:
            fault = "not the bar that comes here in the song and by the listed steps"
            yield _witness(arrangement, arrangement.bars[index], Breach.FORM_ORDER, fault)
            return
    if len(played) < len(wanted):
        fault = f"{len(wanted) - len(played)} bars of the song are not played at the end"
        yield _witness(arrangement, arrangement.bars[-1], Breach.FORM_ORDER, fault)


def _apply_steps(form: Form, order: Sequence[int]) -> list[int]:
    gone = {
        position
        for step in form.steps
        if step.act is FormAct.LEFT_OUT
        for position in range(step.first, step.end)
    }
    left = [index for position, index in enumerate(order) if position not in gone]
    for step in form.steps:
        if step.act is FormAct.PLAYED_AGAIN:
            left += list(order[step.first : step.end]) * step.times
    return left


def _wrong_introduction(arrangement: Arrangement, form: Form, song: Song) -> Iterator[Witness]:
    """It is the end of the song as played, or bars of accompaniment alone, which are nowhere else."""
    count = _count_introduction(form)
    order = play_order(song.bars)
    opening = form.sources[:count]
    if opening and opening not in {(None,) * count, order[len(order) - count :]}:
        fault = "an introduction that is neither the end of the song nor the dominant"
        yield _witness(arrangement, arrangement.bars[0], Breach.FORM_SOURCE, fault)
    for bar, source in zip(arrangement.bars[count:], form.sources[count:], strict=True):
        if source is None:
            fault = "a bar that is not in the song"
            yield _witness(arrangement, bar, Breach.FORM_SOURCE, fault)


def _cut_sections(arrangement: Arrangement, form: Form, song: Song) -> Iterator[Witness]:
    """At both edges of what is left out, and where playing again begins."""
    order = play_order(song.bars)
    for step in form.steps:
        edges = {FormAct.LEFT_OUT: (step.first, step.end), FormAct.PLAYED_AGAIN: (step.first,)}
        for edge in edges.get(step.act, ()):
            if 0 < edge < len(order) and _is_held_over(song, order[edge - 1], order[edge]):
                fault = f"a note is held on where a section is to begin, at bar {song.bars[order[edge]].number} of the song"
                yield _witness(arrangement, arrangement.bars[0], Breach.FORM_CUT, fault)


def _is_held_over(song: Song, before: int, index: int) -> bool:
    moment = song.bars[index].onset
    held = any(note.onset < moment < note.offset for note in song.melody)
    return index == before + 1 and held


def _wrong_upbeats(arrangement: Arrangement, form: Form, song: Song) -> Iterator[Witness]:
    """A shortened bar and the upbeat after it make one full bar, and nothing begins in what is gone."""
    bars = arrangement.bars
    followers = {(one, other) for one, other in pairwise(play_order(bars))}
    for step in form.steps_of(FormAct.SHORTENED):
        bar = bars[step.bar]
        upbeats = [bars[other] for one, other in followers if one == step.bar and bars[other].is_pickup]
        is_full = any(bar.duration + upbeat.duration == bar.meter.bar_length for upbeat in upbeats)
        if not is_full or _begins_in_what_is_gone(bar, form.sources[step.bar], song):
            fault = "shortened, and not for an upbeat alone"
            yield _witness(arrangement, bar, Breach.FORM_UPBEAT, fault)


def _begins_in_what_is_gone(bar: Bar, source: int | None, song: Song) -> bool:
    if source is None:
        return False
    whole = song.bars[source]
    onsets = (each.onset for each in (*song.melody, *song.harmony))
    return any(whole.onset + bar.duration <= onset < whole.offset for onset in onsets)


def _missing_endings(arrangement: Arrangement, form: Form) -> Iterator[Witness]:
    """The last bar that is played has a fermata, or a chord that is rolled throughout, or a tune that ends on a harmonic."""
    last = arrangement.bars[play_order(arrangement.bars)[-1]]
    sounding = [note for note in arrangement.notes if note.span.overlaps(last.span)]
    has_fermata = any(note.has_fermata for note in sounding if note.role is Role.MELODY)
    rolled = {note.onset for note in sounding if note.is_rolled}
    chord = [note for note in sounding if note.onset in rolled]
    is_rolled = len(rolled) == 1 and len(chord) > 1 and all(note.is_rolled for note in chord)
    sung = [note for note in sounding if note.role is Role.MELODY]
    is_touched = bool(sung) and max(sung, key=lambda note: note.onset).is_harmonic
    for step in form.steps_of(FormAct.ENDING):
        if step.bar != last.index or not (has_fermata or is_rolled or is_touched):
            yield _witness(arrangement, last, Breach.FORM_ENDING, str(Breach.FORM_ENDING))


# --- the song laid out ---------------------------------------------------------------


def lay_out_song(arrangement: Arrangement, song: Song) -> Song:
    """The song as the piece should have it: what the other rules are held against."""
    form = arrangement.form
    if form is None or not _fits(form, arrangement.bars, song):
        return song
    shortened = {step.bar: arrangement.bars[step.bar].duration for step in form.steps_of(FormAct.SHORTENED)}
    bars: list[Bar] = []
    melody: list[MelodyNote] = []
    harmony: list[HarmonySpan] = []
    onset, before = Quarters(0), None
    for index, (number, source) in enumerate(zip(_number_bars(form, song), form.sources, strict=True)):
        whole = arrangement.bars[index] if source is None else song.bars[source]
        length = shortened.get(index, whole.duration)
        span = Span(onset, onset + length)
        bars.append(replace(whole, index=index, number=number, span=span))
        if source is None:
            harmony.append(HarmonySpan(span, _dominant(song)))
        else:
            _copy_melody(song, whole, span, melody, goes_on=before == source - 1)
            _copy_harmony(song, whole, span, harmony)
        is_cut = index in shortened or index + 1 == _count_introduction(form)
        onset, before = span.offset, None if is_cut else source
    return replace(song, bars=tuple(bars), melody=tuple(melody), harmony=tuple(harmony))


def _number_bars(form: Form, song: Song) -> Iterator[str]:
    """As printed: the song's numbers, with a count where a bar comes again; i1, i2 … before the song."""
    before = _count_introduction(form)
    seen: list[int | None] = []
    for index, source in enumerate(form.sources):
        if index < before or source is None:
            yield f"i{index + 1}"
            continue
        seen.append(source)
        times = seen.count(source)
        yield song.bars[source].number if times == 1 else f"{song.bars[source].number}.{times}"


def _dominant(song: Song) -> Chord:
    """The dominant seventh of the key in which the song begins."""
    return Chord(root=song.key.tonic.transposed(1), kind="dominant")


def _copy_melody(song: Song, whole: Bar, span: Span, melody: list[MelodyNote], *, goes_on: bool) -> None:
    """The notes of one bar; one that is held into it goes on only if the bar before it stands there."""
    end = whole.onset + span.duration
    for note in song.melody:
        start, stop = max(note.onset, whole.onset), min(note.offset, end)
        if start < stop:
            moved = Span(span.onset + start - whole.onset, span.onset + stop - whole.onset)
            if note.onset < whole.onset and goes_on:
                held = melody.pop()
                moved = Span(held.onset, moved.offset)
            melody.append(replace(note, span=moved))


def _copy_harmony(song: Song, whole: Bar, span: Span, harmony: list[HarmonySpan]) -> None:
    end = whole.onset + span.duration
    for each in song.harmony:
        start, stop = max(each.onset, whole.onset), min(each.offset, end)
        if start < stop:
            moved = Span(span.onset + start - whole.onset, span.onset + stop - whole.onset)
            harmony.append(replace(each, span=moved))
