"""Found chords as a musician writes them: spelled as the notes are, with a bass where it matters.

A bass other than the root is named where a chord begins on it and has nothing of its root
lower down: an inversion, not the figure of an accompaniment.
"""

from bisect import bisect_right
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import groupby

from apoyando.model.harmony import Chord, ChordFunction, chord_tones
from apoyando.model.pitch import Key, PitchName
from apoyando.model.score import ScoreNote
from apoyando.model.song import Bar
from apoyando.model.time import Quarters
from apoyando.reading.draft import DraftChord
from apoyando.reading.harmony.decoding import Found
from apoyando.reading.harmony.evidence import Cells
from apoyando.reading.harmony.templates import STATES

_CENTRE = 2
"""The middle of a signature's scale on the line of fifths: its major tonic is 0, its ends -1 and 5."""
_FAR = 0.02
"""What a place on the line of fifths away from there counts, against the share of the notes that are spelled otherwise."""
_ALL_NAMES = range(-15, 20)
_NO_BASS = -1


def name_chords(
    found: Sequence[Found], cells: Cells, bars: Sequence[Bar], tune: frozenset[ScoreNote]
) -> list[DraftChord]:
    """The chord symbols, each where it begins. Over a barline a chord is named anew only if its bass is."""
    named = [pair for each in found for pair in _name(each, cells, bars, tune)]
    return [DraftChord(next(group)[0], chord) for chord, group in groupby(named, key=lambda pair: pair[1])]


def _name(
    found: Found, cells: Cells, bars: Sequence[Bar], tune: frozenset[ScoreNote]
) -> Iterator[tuple[Quarters, Chord]]:
    """A chord in each of its bars. One that goes on over its fifth only swings to and fro, as in a waltz."""
    key = bars[bisect_right(cells.first, found.first) - 1].key
    chord = _spell(found.state, key, _sounding(cells, found))
    tones = {tone.name.pitch_class: tone for tone in chord_tones(chord)}
    bass: PitchName | None = None
    for piece in _by_bar(found, cells):
        onset = cells.spans[piece.first].onset
        under = [note for note in _sounding(cells, piece) if note not in tune]
        tone = tones.get(_bass_of(under, onset), tones[chord.root.pitch_class])
        if piece.first == found.first or tone.function is not ChordFunction.FIFTH:
            bass = None if tone.function is ChordFunction.ROOT else tone.name
        yield onset, replace(chord, bass=bass)


def _by_bar(found: Found, cells: Cells) -> Iterator[Found]:
    """The chord cut at the barlines."""
    first = found.first
    while first < found.end:
        end = min(cells.first[bisect_right(cells.first, first)], found.end)
        yield replace(found, first=first, end=end)
        first = end


def _sounding(cells: Cells, found: Found) -> list[ScoreNote]:
    return list(
        dict.fromkeys(note for cell in range(found.first, found.end) for note in cells.sounding[cell])
    )


def _spell(state: int, key: Key, notes: Sequence[ScoreNote]) -> Chord:
    """The chord with most of its tones called what the notes are called.

    Of a diminished seventh and an augmented triad the names also tell the root: any of its
    tones may be it.
    """
    written = Counter(note.pitch.name for note in notes)
    kind, classes = STATES[state][1], _CLASSES[state]
    chords = (Chord(root=PitchName.from_fifths(fifths), kind=kind) for fifths in _ALL_NAMES)
    alike = (chord for chord in chords if _classes_of(chord) == classes)
    return min(alike, key=lambda chord: _strangeness(chord, key, written))


def _classes_of(chord: Chord) -> frozenset[int]:
    return frozenset(tone.name.pitch_class for tone in chord_tones(chord))


_CLASSES = tuple(
    _classes_of(Chord(root=PitchName.from_fifths(7 * root % 12), kind=kind)) for root, kind in STATES
)


def _strangeness(chord: Chord, key: Key, written: Counter[PitchName]) -> float:
    names = [tone.name for tone in chord_tones(chord)]
    agreed = sum(written[name] for name in names) / max(1, written.total())
    return _FAR * sum(abs(name.fifths - key.fifths - _CENTRE) for name in names) - agreed


def _bass_of(under: Sequence[ScoreNote], onset: Quarters) -> int:
    """The pitch class of the bass that a span begins on; _NO_BASS where a lower one follows, or nothing sounds."""
    first = min((max(note.onset, onset) for note in under), default=onset)
    there = [note for note in under if note.onset <= first < note.offset]
    if not there:
        return _NO_BASS
    lowest = min(note.pitch.midi for note in there)
    return lowest % 12 if lowest == min(note.pitch.midi for note in under) else _NO_BASS
