"""Non-chord tones of the melody: a line, cut where its chord changes."""

from bisect import bisect_right
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import takewhile

from apoyando.model.arrangement import Note, Role
from apoyando.model.time import Span
from apoyando.teaching.voice_leading.figures import figure
from apoyando.teaching.voice_leading.findings import NonChordTone, Stay, ToneKind
from apoyando.teaching.voice_leading.harmonies import Harmony, Score, onset
from apoyando.teaching.voice_leading.kinds import name_tone


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


def melody_tones(score: Score) -> Iterator[NonChordTone]:
    melody = sorted(score.arrangement.voice(Role.MELODY), key=onset)
    line = _join(piece for note in melody for piece in _cut(note, score.harmonies))
    for before, now, after in zip([None, *line], line, [*line[1:], None], strict=False):
        if now.is_dissonant:
            near_before = before if before and before.is_near(now) else None
            near_after = after if after and now.is_near(after) else None
            yield _melody_tone(score, near_before, now, near_after)


def _cut(note: Note, harmonies: Sequence[Harmony]) -> Iterator[_Piece]:
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


def _melody_tone(score: Score, before: _Piece | None, now: _Piece, after: _Piece | None) -> NonChordTone:
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
        figure=figure(score, now.last, now.span.onset, resolution),
        stay=breaks_off if resolution else None,
    )


_LEFT_OPEN = frozenset({ToneKind.ESCAPE, ToneKind.UNRESOLVED})
"""The kinds that do not resolve."""
