"""From the search's answer to the arrangement: notes, barres, and what was given up."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import groupby

from apoyando.arranging.slices import VOICES, PlottedSlice, Setting
from apoyando.fingering import Chosen, ChosenSlice, Stroke, choose_plucks
from apoyando.model.arrangement import Barre, Note, Role
from apoyando.model.harmony import Chord, chord_tones
from apoyando.model.instrument import Fret, StringNumber
from apoyando.model.pitch import Pitch
from apoyando.model.song import MelodyNote
from apoyando.model.time import Quarters, Span


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


def collect_played(
    slices: Sequence[PlottedSlice], chosen: Sequence[ChosenSlice], role: Role
) -> tuple[Played, ...]:
    """The notes of one role: neighbouring slices with the same entry are one note."""
    sounding = [
        (entry, index, choice)
        for index, (slice_, answer) in enumerate(zip(slices, chosen, strict=True))
        for entry, choice in [(_entry(slice_, role), _choice(answer, role))]
        if entry is not None and choice is not None
    ]
    return tuple(
        _played(entry, list(group), slices) for entry, group in groupby(sounding, key=lambda item: item[0])
    )


def _entry(slice_: PlottedSlice, role: Role) -> int | None:
    return {Role.MELODY: slice_.melody, Role.BASS: slice_.bass, Role.INNER: slice_.inner}[role]


def _choice(answer: ChosenSlice, role: Role) -> Chosen | None:
    return answer.voices[VOICES.index(role)]


def _played(entry: int, group: list[tuple[int, int, Chosen]], slices: Sequence[PlottedSlice]) -> Played:
    first, last = group[0][1], group[-1][1]
    return Played(
        entry=entry,
        candidate=group[0][2].candidate,
        touches=tuple(choice for _, _, choice in group),
        span=Span(slices[first].span.onset, slices[last].span.offset),
        first_slice=first,
    )


def melody_notes(played: Iterable[Played], melody: Sequence[MelodyNote]) -> list[Note]:
    return [
        Note(
            role=Role.MELODY,
            span=note.span,
            pitch=melody[note.entry].pitch,
            place=note.touches[0].touch.place,
            finger=note.touches[0].touch.finger,
            in_barre=note.in_barre,
            source=note.entry,
            lyrics=melody[note.entry].lyrics,
            has_fermata=melody[note.entry].has_fermata,
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
    """The chord's own name for one of its tones."""
    name = next(tone.name for tone in chord_tones(chord) if tone.name.pitch_class == midi % 12)
    return Pitch.at(name, midi)


def collect_barres(slices: Sequence[PlottedSlice], chosen: Sequence[ChosenSlice]) -> tuple[Barre, ...]:
    """Barres over the slices in which they lie.

    A barre grows to the deepest string it needs, unless an open string sounds there.
    """
    barres: list[Barre] = []
    opens: set[int] = set()
    for slice_, answer in zip(slices, chosen, strict=True):
        if not answer.barre_fret:
            continue
        last = barres[-1] if barres else None
        now = Barre(Fret(answer.barre_fret), StringNumber(answer.barre_string), slice_.span)
        joined = _join(last, now) if last else None
        if joined and not any(string <= joined.lowest_string for string in opens | _open_strings(answer)):
            barres[-1] = joined
            opens |= _open_strings(answer)
        else:
            barres.append(now)
            opens = _open_strings(answer)
    return tuple(barres)


def _join(last: Barre, now: Barre) -> Barre | None:
    if last.fret != now.fret or last.span.offset != now.span.onset:
        return None
    span = Span(last.span.onset, now.span.offset)
    return Barre(now.fret, max(last.lowest_string, now.lowest_string), span)


def _open_strings(answer: ChosenSlice) -> set[int]:
    return {choice.touch.place.string for choice in answer.voices if choice and choice.touch.place.is_open}


def add_plucks(notes: Sequence[Note], setting: Setting) -> tuple[Note, ...]:
    """The notes in order of time, from the lowest-pitched string up, with right-hand fingers."""
    ordered = sorted(notes, key=lambda note: (note.onset, -note.place.string))
    moments = [(onset, list(group)) for onset, group in groupby(ordered, key=lambda note: note.onset)]
    strokes: list[Stroke] = []
    last: Quarters | None = None
    for onset, group in moments:
        since = float(onset - last) * setting.seconds_per_quarter if last is not None else 1e9
        strokes.append(Stroke(tuple(note.place.string for note in group), since))
        last = onset
    plucks = choose_plucks(strokes)
    return tuple(
        replace(note, pluck=pluck)
        for (_, group), hand in zip(moments, plucks, strict=True)
        for note, pluck in zip(group, hand, strict=True)
    )
