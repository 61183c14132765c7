"""The chords of a piece as its voices meet them. A tone is dissonant where its chord symbol does not name
it, and where it stands for the third of a suspended chord.
"""

from bisect import bisect_left
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from apoyando.model.arrangement import Arrangement, Note, Role
from apoyando.model.harmony import Chord, ChordFunction, chord_tones
from apoyando.model.pitch import PitchName
from apoyando.model.ring import Ring
from apoyando.model.song import bar_at
from apoyando.model.time import Quarters, Span


@dataclass(frozen=True, slots=True)
class Harmony:
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
class Score:
    """What the analysis looks at. ``ring_of`` goes by the identity of a note."""

    arrangement: Arrangement
    harmonies: tuple[Harmony, ...]
    bass: tuple[Note, ...]
    ring_of: Mapping[int, Ring]

    def bar(self, moment: Quarters) -> str:
        return bar_at(self.arrangement.bars, moment).number

    def ring(self, note: Note) -> Ring | None:
        return self.ring_of.get(id(note))


_IN_PLACE_OF_THIRD = frozenset({ChordFunction.SECOND, ChordFunction.FOURTH})


def join_harmonies(arrangement: Arrangement) -> tuple[Harmony, ...]:
    joined: list[tuple[Span, Chord]] = []
    for each in arrangement.harmony:
        if each.chord:
            span = each.span
            if joined and joined[-1][0].offset == span.onset and joined[-1][1].is_same_as(each.chord):
                span = Span(joined.pop()[0].onset, span.offset)
            joined.append((span, each.chord))
    strokes = sorted(arrangement.voice(Role.BASS, Role.INNER), key=lambda note: note.onset)
    return tuple(_harmony(span, chord, strokes) for span, chord in joined)


def _harmony(span: Span, chord: Chord, strokes: Sequence[Note]) -> Harmony:
    tones = chord_tones(chord)
    has_third = any(tone.function is ChordFunction.THIRD for tone in tones)
    suspended = frozenset(
        tone.name.pitch_class for tone in tones if tone.function in _IN_PLACE_OF_THIRD and not has_third
    )
    first = bisect_left(strokes, span.onset, key=onset)
    after = bisect_left(strokes, span.offset, key=onset)
    consonant = frozenset(tone.name.pitch_class for tone in tones) - suspended
    return Harmony(span, consonant, suspended, tuple(strokes[first:after]))


def onset(note: Note) -> Quarters:
    return note.onset
