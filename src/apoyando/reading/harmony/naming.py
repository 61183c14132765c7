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
    root, kind = STATES[found.state]
    key = bars[bisect_right(cells.first, found.first) - 1].key
    chord = _spell(root, kind, key, _sounding(cells, found))
    tones = {tone.name.pitch_class: tone for tone in chord_tones(chord)}
    bass: PitchName | None = None
    for piece in _by_bar(found, cells):
        onset = cells.spans[piece.first].onset
        under = [note for note in _sounding(cells, piece) if note not in tune]
        tone = tones.get(_bass_of(under, onset), tones[root])
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


def _spell(root: int, kind: str, key: Key, notes: Sequence[ScoreNote]) -> Chord:
    """The name of the root with which most of the chord's tones are called what the notes are called."""
    written: Counter[PitchName] = Counter()
    for note in notes:
        written[note.pitch.name] += 1
    chords = (
        Chord(root=PitchName.from_fifths(fifths), kind=kind)
        for fifths in _ALL_NAMES
        if 7 * fifths % 12 == root
    )
    return min(chords, key=lambda chord: _strangeness(chord, key, written))


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
