"""From the search's answer to the arrangement: notes, barres, and what was given up."""

from bisect import bisect_right
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import groupby
from math import inf

from apoyando.arranging.melody import TransposedMelody
from apoyando.arranging.plot import Plot
from apoyando.arranging.setting import Setting
from apoyando.arranging.slices import FIRST_INNER_VOICE, PlottedSlice
from apoyando.arranging.texture import Lasting
from apoyando.fingering import Chosen, ChosenSlice, Stroke, Touch, choose_plucks
from apoyando.model.arrangement import Barre, Note, Role
from apoyando.model.hand import FINGERS, Finger
from apoyando.model.harmony import Chord, chord_tones
from apoyando.model.instrument import STRINGS, Fret, Place
from apoyando.model.pitch import Pitch
from apoyando.model.song import Bar
from apoyando.model.time import Quarters, Span, Spanned

_MOST_ACCIDENTALS = 2
_LONG_BAR = Quarters(3)
"""In 4/4 and 6/8 the hand thinks in halves of a bar, in 2/4 and 3/4 in bars."""


@dataclass(frozen=True, slots=True)
class Played:
    """One entry of the plot as the search plays it: which candidate, by what, how long."""

    entry: int
    candidate: int
    touches: tuple[Chosen, ...]
    span: Span
    first_slice: int

    @property
    def in_barre(self) -> bool:
        return any(chosen.touch.in_barre for chosen in self.touches)


def cut_to_written(
    plot: Plot, slices: Sequence[PlottedSlice], chosen: Sequence[ChosenSlice]
) -> tuple[ChosenSlice, ...]:
    """The search's answer without what is only let ring: a note is silent from its written end on.

    A chord that was struck together is written as long as its shortest note, on one stem.
    """
    ends = _written_ends(plot, slices, chosen)
    cut = [
        replace(
            answer,
            voices=tuple(
                None if role is Role.INNER and entry in ends and slice_.onset >= ends[entry] else choice
                for role, entry, choice in zip(plot.roles, slice_.entries, answer.voices, strict=True)
            ),
        )
        for slice_, answer in zip(slices, chosen, strict=True)
    ]
    for finger in FINGERS:
        _stand_up(finger, cut)
    return tuple(cut)


def _stand_up(finger: Finger, answers: list[ChosenSlice]) -> None:
    """A finger that lies flat for what only rings on stops a single string of what is written: that is no barre."""
    for _, run in groupby(
        range(len(answers)), key=lambda index: {place.fret for place in _flat(finger, answers[index])}
    ):
        indices = list(run)
        if len({place.string for index in indices for place in _flat(finger, answers[index])}) == 1:
            for index in indices:
                voices = tuple(choice and _standing(choice, finger) for choice in answers[index].voices)
                answers[index] = replace(answers[index], voices=voices)


def _flat(finger: Finger, answer: ChosenSlice) -> list[Place]:
    """What a finger that lies flat stops."""
    return [touch.place for touch in _touches(answer) if touch.in_barre and touch.finger is finger]


def _standing(choice: Chosen, finger: Finger) -> Chosen:
    touch = choice.touch
    return replace(choice, touch=replace(touch, in_barre=touch.in_barre and touch.finger is not finger))


def _written_ends(
    plot: Plot, slices: Sequence[PlottedSlice], chosen: Sequence[ChosenSlice]
) -> dict[int, Quarters]:
    """Where inner notes end on the page, by their entries, as far as it may be before the hand lets go."""
    ends = {
        index: due.written_until for index, (due, _) in enumerate(plot.inner) if due.written_until is not None
    }
    chords: defaultdict[Quarters, dict[int, Quarters]] = defaultdict(dict)
    for voice in range(FIRST_INNER_VOICE, len(plot.roles)):
        for note in collect_played(slices, chosen, voice):
            if plot.inner[note.entry][0].lasting is Lasting.LET_GO:
                chords[note.span.onset][note.entry] = note.span.offset
    for chord in chords.values():
        ends |= dict.fromkeys(chord, min(chord.values()))
    return ends


def collect_played(
    slices: Sequence[PlottedSlice], chosen: Sequence[ChosenSlice], voice: int
) -> tuple[Played, ...]:
    """The notes of one voice: neighbouring slices with the same entry are one note."""
    sounding = [
        (entry, index, choice)
        for index, (slice_, answer) in enumerate(zip(slices, chosen, strict=True))
        for entry, choice in [(slice_.entries[voice], answer.voices[voice])]
        if entry is not None and choice is not None
    ]
    return tuple(
        _played(entry, list(group), slices) for entry, group in groupby(sounding, key=lambda item: item[0])
    )


def collect_inner(
    plot: Plot, slices: Sequence[PlottedSlice], chosen: Sequence[ChosenSlice]
) -> tuple[Played, ...]:
    """The notes of all inner lines."""
    lines = range(FIRST_INNER_VOICE, len(plot.roles))
    return tuple(note for voice in lines for note in collect_played(slices, chosen, voice))


def _played(entry: int, group: list[tuple[int, int, Chosen]], slices: Sequence[PlottedSlice]) -> Played:
    first, last = group[0][1], group[-1][1]
    return Played(
        entry=entry,
        candidate=group[0][2].candidate,
        touches=tuple(choice for _, _, choice in group),
        span=Span(slices[first].span.onset, slices[last].span.offset),
        first_slice=first,
    )


def melody_notes(played: Iterable[Played], melody: TransposedMelody) -> list[Note]:
    return [
        Note(
            role=Role.MELODY,
            span=note.span,
            pitch=melody.notes[note.entry].pitch,
            place=note.touches[0].touch.place,
            finger=note.touches[0].touch.finger,
            in_barre=note.in_barre,
            source=melody.sources[note.entry],
            lyrics=melody.notes[note.entry].lyrics,
            has_fermata=melody.notes[note.entry].has_fermata,
        )
        for note in played
    ]


def accompaniment_note(played: Played, role: Role, chord: Chord, midi: int) -> Note:
    return Note(
        role=role,
        span=played.span,
        pitch=spell_in_chord(chord, midi),
        place=played.touches[0].touch.place,
        finger=played.touches[0].touch.finger,
        in_barre=played.in_barre,
    )


def spell_in_chord(chord: Chord, midi: int) -> Pitch:
    """The chord's own name for one of its tones; nobody reads three accidentals, so then a plainer one."""
    name = next(tone.name for tone in chord_tones(chord) if tone.name.pitch_class == midi % 12)
    return Pitch.at(name.transposed(name.plainer_by(_MOST_ACCIDENTALS)), midi)


def collect_barres(slices: Sequence[Spanned], chosen: Sequence[ChosenSlice]) -> tuple[Barre, ...]:
    """Barres over the slices in which they lie, in order of time.

    A barre grows to the outermost strings it needs, unless something sounds there beside it.
    """
    laid = [barre for finger in FINGERS for barre in _barres_of(finger, slices, chosen)]
    return tuple(sorted(laid, key=lambda barre: barre.span.onset))


def _barres_of(finger: Finger, slices: Sequence[Spanned], chosen: Sequence[ChosenSlice]) -> list[Barre]:
    barres: list[Barre] = []
    beside: set[int] = set()
    for slice_, answer in zip(slices, chosen, strict=True):
        flat = _flat(finger, answer)
        if not flat:
            continue
        last = barres[-1] if barres else None
        beside_now = _strings_beside(answer, finger, flat[0].fret)
        now = _barre(finger, flat, beside_now, slice_.span)
        joined = _join(last, now) if last else None
        if joined and not any(string in joined.strings for string in beside | beside_now):
            barres[-1] = joined
            beside |= beside_now
        else:
            barres.append(now)
            beside = beside_now
    return barres


def _barre(finger: Finger, flat: Sequence[Place], beside: set[int], span: Span) -> Barre:
    """Finger 1 lies on up to string 1 where it can."""
    lowest, highest = max(place.string for place in flat), min(place.string for place in flat)
    if finger is Finger.INDEX and not any(string < lowest for string in beside):
        highest = STRINGS[0]
    return Barre(flat[0].fret, lowest, span, highest, finger)


def _join(last: Barre, now: Barre) -> Barre | None:
    if last.fret != now.fret or last.span.offset != now.span.onset:
        return None
    return replace(
        last,
        lowest_string=max(last.lowest_string, now.lowest_string),
        highest_string=min(last.highest_string, now.highest_string),
        span=Span(last.span.onset, now.span.offset),
    )


def _touches(answer: ChosenSlice) -> list[Touch]:
    return [choice.touch for choice in answer.voices if choice]


def _strings_beside(answer: ChosenSlice, finger: Finger, fret: Fret) -> set[int]:
    """The strings that sound where the barre of a finger cannot lie: open, or stopped no higher."""
    others = [touch for touch in _touches(answer) if touch.finger is not finger]
    return {touch.place.string for touch in others if touch.place.fret <= fret}


def add_plucks(notes: Sequence[Note], bars: Sequence[Bar], setting: Setting) -> tuple[Note, ...]:
    """The notes in order of time, from the lowest-pitched string up, with right-hand fingers."""
    ordered = sorted(notes, key=lambda note: (note.onset, -note.place.string))
    moments = [list(group) for _, group in groupby(ordered, key=lambda note: note.onset)]
    plucks = choose_plucks(_strokes(moments, bars, setting.seconds_per_quarter), setting.prices)
    return tuple(
        replace(note, pluck=pluck)
        for group, hand in zip(moments, plucks, strict=True)
        for note, pluck in zip(group, hand, strict=True)
    )


def _strokes(moments: Sequence[list[Note]], bars: Sequence[Bar], seconds_per_quarter: float) -> list[Stroke]:
    onsets = [group[0].onset for group in moments]
    starts = _pattern_starts(bars)
    units = [bisect_right(starts, onset) for onset in onsets]
    return [
        Stroke(
            strings=tuple(note.place.string for note in group),
            roles=tuple(note.role for note in group),
            seconds_since_last=float(onset - before) * seconds_per_quarter if before is not None else inf,
            opens_group=unit != unit_before,
        )
        for group, onset, before, unit, unit_before in zip(
            moments, onsets, [None, *onsets], units, [-1, *units], strict=False
        )
    ]


def _pattern_starts(bars: Sequence[Bar]) -> list[Quarters]:
    """Where a pattern of the right hand may begin anew: bars, and the halves of long ones."""
    starts: list[Quarters] = []
    for bar in bars:
        starts.append(bar.onset)
        is_even = (bar.duration / bar.meter.pulse) % 2 == 0
        if is_even and bar.duration >= _LONG_BAR:
            starts.append(bar.onset + bar.duration / 2)
    return starts
