"""Voice leading: non-chord tones with their resolutions, and inner notes that move by step.

Names as in any harmony text (Kostka & Payne, *Tonal Harmony*, the chapters on non-chord
tones, from memory): each kind is known by how it is approached and how it is left.

Conventions: onsets in quarters. A step is a second, or a semitone on one letter; a rest or a
wider interval is no step. A tone is dissonant where its chord symbol does not name it, and
where it stands for the third of a suspended chord.
"""

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from itertools import pairwise, takewhile

from apoyando.model.arrangement import Arrangement, Note, Role
from apoyando.model.harmony import Chord, ChordFunction, chord_tones
from apoyando.model.pitch import STEPS, Pitch, PitchName
from apoyando.model.ring import Ring
from apoyando.model.song import bar_at
from apoyando.model.time import Quarters, Span

_WHOLE_TONE = 2
_OCTAVE_STEPS = 7


class ToneKind(StrEnum):
    """The non-chord tones. UNRESOLVED has no name of its own: it is left by leap or by a rest."""

    SUSPENSION = "suspension"
    RETARDATION = "retardation"
    PEDAL = "pedal"
    PASSING = "passing tone"
    NEIGHBOUR = "neighbour tone"
    APPOGGIATURA = "appoggiatura"
    ESCAPE = "escape tone"
    ANTICIPATION = "anticipation"
    UNRESOLVED = "unresolved"


class Stay(StrEnum):
    """Whether a dissonance lasts until it resolves."""

    WRITTEN = "as written"
    CAN_RING = "if it is let ring"
    BREAKS_OFF = "it breaks off before"


@dataclass(frozen=True, slots=True, kw_only=True)
class NonChordTone:
    """A dissonance: ``note`` sounds it (the last stroke of it, where it is struck again).

    ``preparation`` is the note that had its pitch before, ``resolution`` the one into which it
    moves; ``figure`` tells both as intervals over the bass, "4–3". It has to stay down for
    ``span``: from where it is dissonant until it resolves. ``stay`` tells whether it does (None
    where nothing resolves it); a suspended tone of the accompaniment may be let go where the
    chord begins that resolves it. ``ring`` is what is known of letting it ring.
    """

    kind: ToneKind
    note: Note
    span: Span
    bar: str
    preparation: Note | None
    resolution: Note | None
    figure: str
    stay: Stay | None
    ring: Ring | None = None

    @property
    def is_violated(self) -> bool:
        """Whether it is let go before it resolves, and cannot be kept down."""
        return self.stay is Stay.BREAKS_OFF


class MotionKind(StrEnum):
    """How an inner note goes on into the next chord."""

    COMMON_TONE = "common tone"
    STEP = "step"


@dataclass(frozen=True, slots=True, kw_only=True)
class VoiceMotion:
    """An inner note that is kept, or moves by step, into the next chord's inner voice or bass.

    ``onset`` is the change of harmony. ``sounds_on`` says that ``before`` lasts until then, as
    written or let ring.
    """

    kind: MotionKind
    bar: str
    onset: Quarters
    before: Note
    after: Note
    sounds_on: bool


@dataclass(frozen=True, slots=True)
class VoiceLeading:
    """All of a piece, in order of time. ``changes`` counts the changes of harmony under the inner voice."""

    tones: tuple[NonChordTone, ...] = ()
    motions: tuple[VoiceMotion, ...] = ()
    changes: int = 0


def find_voice_leading(arrangement: Arrangement, rings: Sequence[Ring] = ()) -> VoiceLeading:
    """The non-chord tones and the steps of the inner voice. ``rings`` are those of the arrangement."""
    score = _Score(
        arrangement=arrangement,
        harmonies=_join_harmonies(arrangement),
        bass=arrangement.voice(Role.BASS),
        ring_of={id(ring.note): ring for ring in rings},
    )
    tones = [*_melody_tones(score), *_suspended_tones(score)]
    changes = list(_inner_changes(score))
    return VoiceLeading(
        tones=tuple(sorted(tones, key=lambda tone: tone.span.onset)),
        motions=tuple(motion for change in changes for motion in _motions(score, change)),
        changes=len(changes),
    )


# Harmony.


@dataclass(frozen=True, slots=True)
class _Harmony:
    """One chord for as long as it lasts, a chord that is written again being the same.

    ``consonant`` and ``suspended`` are pitch classes; ``strokes`` is what the accompaniment
    strikes in it, in order of time.
    """

    span: Span
    consonant: frozenset[int]
    suspended: frozenset[int]
    strokes: tuple[Note, ...]

    def is_dissonant(self, name: PitchName) -> bool:
        return name.pitch_class not in self.consonant


@dataclass(frozen=True, slots=True, kw_only=True)
class _Score:
    """What the analysis looks at. ``ring_of`` goes by the identity of a note."""

    arrangement: Arrangement
    harmonies: tuple[_Harmony, ...]
    bass: tuple[Note, ...]
    ring_of: Mapping[int, Ring]

    def bar(self, moment: Quarters) -> str:
        return bar_at(self.arrangement.bars, moment).number

    def ring(self, note: Note) -> Ring | None:
        return self.ring_of.get(id(note))


_IN_PLACE_OF_THIRD = frozenset({ChordFunction.SECOND, ChordFunction.FOURTH})


def _join_harmonies(arrangement: Arrangement) -> tuple[_Harmony, ...]:
    joined: list[tuple[Span, Chord]] = []
    for each in arrangement.harmony:
        if each.chord:
            span = each.span
            if joined and joined[-1][0].offset == span.onset and joined[-1][1].is_same_as(each.chord):
                span = Span(joined.pop()[0].onset, span.offset)
            joined.append((span, each.chord))
    strokes = sorted(arrangement.voice(Role.BASS, Role.INNER), key=lambda note: note.onset)
    return tuple(_harmony(span, chord, strokes) for span, chord in joined)


def _harmony(span: Span, chord: Chord, strokes: Sequence[Note]) -> _Harmony:
    tones = chord_tones(chord)
    has_third = any(tone.function is ChordFunction.THIRD for tone in tones)
    suspended = frozenset(
        tone.name.pitch_class for tone in tones if tone.function in _IN_PLACE_OF_THIRD and not has_third
    )
    first = bisect_left(strokes, span.onset, key=_onset)
    after = bisect_left(strokes, span.offset, key=_onset)
    consonant = frozenset(tone.name.pitch_class for tone in tones) - suspended
    return _Harmony(span, consonant, suspended, tuple(strokes[first:after]))


def _onset(note: Note) -> Quarters:
    return note.onset


# The kinds.


class _Move(StrEnum):
    SAME = "same"
    UP = "step up"
    DOWN = "step down"
    LEAP = "leap"
    NONE = "rest"


_STEPS = frozenset({_Move.UP, _Move.DOWN})
_KEPT = {
    _Move.DOWN: ToneKind.SUSPENSION,
    _Move.UP: ToneKind.RETARDATION,
    _Move.SAME: ToneKind.PEDAL,
}


def name_tone(before: Pitch | None, tone: Pitch, after: Pitch | None) -> ToneKind:
    """The kind of a dissonance by the pitches before and after it, None where there is a rest."""
    approach, departure = _move(before, tone), _move(tone, after)
    if approach is _Move.SAME:
        return _KEPT.get(departure, ToneKind.UNRESOLVED)
    if departure is _Move.SAME:
        return ToneKind.ANTICIPATION
    if departure in _STEPS:
        if approach not in _STEPS:
            return ToneKind.APPOGGIATURA
        return ToneKind.PASSING if approach is departure else ToneKind.NEIGHBOUR
    is_escape = approach in _STEPS and departure is _Move.LEAP
    return ToneKind.ESCAPE if is_escape else ToneKind.UNRESOLVED


def _move(one: Pitch | None, other: Pitch | None) -> _Move:
    if one is None or other is None:
        return _Move.NONE
    semitones, letters = other.midi - one.midi, other.staff_height - one.staff_height
    if semitones == 0:
        return _Move.SAME
    if abs(semitones) > _WHOLE_TONE or abs(letters) > 1:
        return _Move.LEAP
    return _Move.UP if semitones > 0 else _Move.DOWN


# The melody: a line, cut where its chord changes.


@dataclass(frozen=True, slots=True)
class _Piece:
    """One pitch of the line, without a rest, either a tone of its chords or dissonant."""

    first: Note
    last: Note
    span: Span
    is_dissonant: bool

    def goes_on_in(self, other: "_Piece") -> bool:
        is_alike = self.first.pitch.midi == other.first.pitch.midi and self.is_dissonant == other.is_dissonant
        return is_alike and self.span.offset == other.span.onset

    def is_near(self, other: "_Piece") -> bool:
        """A rest no longer than the tone does not hide where it goes."""
        return other.span.onset - self.span.offset <= self.span.duration


def _melody_tones(score: _Score) -> Iterator[NonChordTone]:
    melody = sorted(score.arrangement.voice(Role.MELODY), key=_onset)
    line = _join(piece for note in melody for piece in _cut(note, score.harmonies))
    for before, now, after in zip([None, *line], line, [*line[1:], None], strict=False):
        if now.is_dissonant:
            near_before = before if before and before.is_near(now) else None
            near_after = after if after and now.is_near(after) else None
            yield _melody_tone(score, near_before, now, near_after)


def _cut(note: Note, harmonies: Sequence[_Harmony]) -> Iterator[_Piece]:
    """A note's parts under each chord; where there is none it is at rest with all."""
    reached = note.onset
    first = bisect_right(harmonies, note.onset, key=lambda harmony: harmony.span.offset)
    for harmony in takewhile(lambda harmony: harmony.span.onset < note.offset, harmonies[first:]):
        onset, offset = max(harmony.span.onset, note.onset), min(harmony.span.offset, note.offset)
        if reached < onset:
            yield _Piece(note, note, Span(reached, onset), is_dissonant=False)
        yield _Piece(note, note, Span(onset, offset), harmony.is_dissonant(note.pitch.name))
        reached = offset
    if reached < note.offset:
        yield _Piece(note, note, Span(reached, note.offset), is_dissonant=False)


def _join(pieces: Iterable[_Piece]) -> list[_Piece]:
    line: list[_Piece] = []
    for piece in pieces:
        if line and line[-1].goes_on_in(piece):
            last = line.pop()
            span = Span(last.span.onset, piece.span.offset)
            line.append(replace(last, last=piece.last, span=span))
        else:
            line.append(piece)
    return line


def _melody_tone(score: _Score, before: _Piece | None, now: _Piece, after: _Piece | None) -> NonChordTone:
    pitch = now.last.pitch
    kind = name_tone(before.last.pitch if before else None, pitch, after.first.pitch if after else None)
    resolution = after.first if after and kind not in _LEFT_OPEN else None
    offset = after.span.onset if after and resolution else now.span.offset
    breaks_off = Stay.BREAKS_OFF if now.span.offset < offset else Stay.WRITTEN
    return NonChordTone(
        kind=kind,
        note=now.last,
        span=Span(now.span.onset, offset),
        bar=score.bar(now.span.onset),
        preparation=before.last if before and before.last.pitch.midi == pitch.midi else None,
        resolution=resolution,
        figure=_figure(score, now.last, now.span.onset, resolution),
        stay=breaks_off if resolution else None,
    )


_LEFT_OPEN = frozenset({ToneKind.ESCAPE, ToneKind.UNRESOLVED})
"""The kinds that do not resolve."""


# The accompaniment: suspended chords.


def _suspended_tones(score: _Score) -> Iterator[NonChordTone]:
    harmonies = score.harmonies
    for before, now, after in zip([None, *harmonies], harmonies, [*harmonies[1:], None], strict=False):
        for strokes in _suspended_strokes(now):
            preparation = _last_of_pitch(score, before, strokes[0]) if before else None
            resolution = _find_resolution(after, strokes[-1]) if after else None
            yield _suspended_tone(score, now, strokes, preparation, resolution)


def _suspended_strokes(harmony: _Harmony) -> list[list[Note]]:
    """The suspended tones of a chord in the accompaniment, each with all its strokes in order."""
    found: dict[int, list[Note]] = {}
    for note in harmony.strokes:
        if note.pitch.name.pitch_class in harmony.suspended:
            found.setdefault(note.pitch.midi, []).append(note)
    return list(found.values())


def _last_of_pitch(score: _Score, harmony: _Harmony, tone: Note) -> Note | None:
    """The last note of a harmony, in any voice, that has the pitch of a tone."""
    alike = (
        note
        for note in score.arrangement.notes
        if harmony.span.contains(note.onset) and note.pitch.midi == tone.pitch.midi
    )
    return max(alike, key=_onset, default=None)


def _find_resolution(harmony: _Harmony, tone: Note) -> Note | None:
    """The first step from a tone into the next harmony, its own voice first; or else the tone kept."""
    moves = [(_move(tone.pitch, note.pitch), note) for note in harmony.strokes]
    steps = [note for move, note in moves if move in _STEPS]
    kept = [note for move, note in moves if move is _Move.SAME]
    return min(steps or kept, key=lambda note: (note.role is not tone.role, note.onset), default=None)


def _suspended_tone(
    score: _Score,
    harmony: _Harmony,
    strokes: Sequence[Note],
    preparation: Note | None,
    resolution: Note | None,
) -> NonChordTone:
    onset, last = strokes[0].onset, strokes[-1]
    before, after = (each.pitch if each else None for each in (preparation, resolution))
    return NonChordTone(
        kind=name_tone(before, last.pitch, after),
        note=last,
        span=Span(onset, resolution.onset if resolution else harmony.span.offset),
        bar=score.bar(onset),
        preparation=preparation,
        resolution=resolution,
        figure=_figure(score, last, onset, resolution),
        stay=_stay(last, score.ring(last), harmony.span.offset) if resolution else None,
        ring=score.ring(last),
    )


def _stay(tone: Note, ring: Ring | None, due: Quarters) -> Stay:
    if tone.offset >= due:
        return Stay.WRITTEN
    return Stay.CAN_RING if ring and ring.until >= due else Stay.BREAKS_OFF


def _figure(score: _Score, tone: Note, onset: Quarters, resolution: Note | None) -> str:
    """Both intervals over the bass: "4–3", "9–8"; "" where the bass itself moves or nothing resolves."""
    if not resolution or Role.BASS in {tone.role, resolution.role}:
        return ""
    low, high = _bass_name(score, onset), _bass_name(score, resolution.onset)
    if low is None or high is None:
        return ""
    one, other = _interval(low, tone.pitch.name), _interval(high, resolution.pitch.name)
    return "9–8" if (one, other) == (2, 1) else f"{one}–{8 if other == 1 else other}"


def _bass_name(score: _Score, moment: Quarters) -> PitchName | None:
    """What sounds in the bass, or else what the chord symbol has there."""
    for note in score.bass:
        if note.span.contains(moment):
            return note.pitch.name
    chords = (each.chord for each in score.arrangement.harmony if each.span.contains(moment))
    chord = next(chords, None)
    return (chord.bass or chord.root) if chord else None


def _interval(low: PitchName, high: PitchName) -> int:
    """Within the octave: a third is 3."""
    return (STEPS.index(high.step) - STEPS.index(low.step)) % _OCTAVE_STEPS + 1


# The inner voice at a change of harmony.


@dataclass(frozen=True, slots=True)
class _Change:
    """The inner notes before a change of harmony, and the first inner notes and bass after it."""

    onset: Quarters
    before: tuple[Note, ...]
    after: tuple[Note, ...]


def _inner_changes(score: _Score) -> Iterator[_Change]:
    """Every change of harmony with inner notes on both sides."""
    for one, other in pairwise(score.harmonies):
        before = tuple(note for note in one.strokes if note.role is Role.INNER)
        inner = [note for note in other.strokes if note.role is Role.INNER]
        bass = [note for note in other.strokes if note.role is Role.BASS]
        if before and inner and one.span.offset == other.span.onset:
            first = [note for note in inner if note.onset == inner[0].onset]
            yield _Change(other.span.onset, before, (*first, *bass[:1]))


def _motions(score: _Score, change: _Change) -> Iterator[VoiceMotion]:
    """Of the last inner note, and of those that sound on until the change."""
    for note in change.before:
        ring = score.ring(note)
        sounds_on = max(note.offset, ring.until if ring else note.offset) >= change.onset
        going = [(kind, after) for after in change.after for kind in _goes_on(note, after)]
        if going and (sounds_on or note is change.before[-1]):
            yield VoiceMotion(
                kind=going[0][0],
                bar=score.bar(change.onset),
                onset=change.onset,
                before=note,
                after=going[0][1],
                sounds_on=sounds_on,
            )


def _goes_on(note: Note, after: Note) -> Iterator[MotionKind]:
    move = _move(note.pitch, after.pitch)
    if move in _STEPS:
        yield MotionKind.STEP
    elif move is _Move.SAME:
        yield MotionKind.COMMON_TONE
