"""Lead sheets written out for voice and piano, as a pianist would in four plain textures.

The chords of the sheet are the truth that an analysis has to find again; the tune over them
is real, with all its non-chord tones. The accompaniment has nothing but chord tones, so the
figures flatter: they say that a texture is understood, not that any score is.
"""

from collections.abc import Iterator, Sequence
from fractions import Fraction

from apoyando.model.harmony import Chord, HarmonySpan, chord_tones
from apoyando.model.pitch import Pitch, PitchName
from apoyando.model.score import ScoreNote
from apoyando.model.song import Song
from apoyando.model.time import Quarters, Span

TEXTURES = ("block chords", "Alberti bass", "arpeggio", "waltz bass")
EIGHTH = Fraction(1, 2)
_LOWEST_BASS, _LOWEST_CHORD = 40, 52
_TUNE, _CHORDS, _BASS = 1, 2, 3

Tone = tuple[int, PitchName]


def write_out(song: Song, texture: str) -> tuple[tuple[ScoreNote, ...], tuple[ScoreNote, ...]]:
    """All the notes in order, and those of the tune among them."""
    tune = tuple(ScoreNote(span=note.span, pitch=note.pitch, voice=_TUNE) for note in song.melody)
    under = [
        note
        for span in song.harmony
        if span.chord
        for stretch in _within_bars(span, song)
        for note in _strike(span.chord, stretch, texture)
    ]
    return tuple(sorted((*tune, *under), key=lambda note: (note.onset, -note.pitch.midi))), tune


def _within_bars(span: HarmonySpan, song: Song) -> Iterator[Span]:
    for bar in song.bars:
        if span.span.overlaps(bar.span):
            yield Span(max(span.onset, bar.onset), min(span.offset, bar.offset))


def _strike(chord: Chord, span: Span, texture: str) -> Iterator[ScoreNote]:
    bass, *uppers = _tones(chord)
    if texture == "block chords":
        yield _note(bass, span, _BASS)
        yield from (_note(tone, span, _CHORDS) for tone in uppers)
    elif texture == "waltz bass":
        yield _note(bass, _from(span, span.onset, Fraction(1)), _BASS)
        yield from _repeat([uppers], _after(span, Fraction(1)), Fraction(1))
    elif texture == "arpeggio":
        yield from _repeat([[bass], *([tone] for tone in uppers)], span, EIGHTH)
    else:
        low, middle, high = (bass[0] + 12, bass[1]), uppers[1 % len(uppers)], uppers[-1]
        yield from _repeat([[low], [high], [middle], [high]], span, EIGHTH)


def _tones(chord: Chord) -> list[Tone]:
    """The bass and, above it, up to four tones of the chord."""
    names = [tone.name for tone in chord_tones(chord)][:4]
    bass = chord.bass or chord.root
    uppers = sorted(
        (_LOWEST_CHORD + (name.pitch_class - _LOWEST_CHORD) % 12, str(name), name) for name in names
    )
    return [
        (_LOWEST_BASS + (bass.pitch_class - _LOWEST_BASS) % 12, bass),
        *((midi, name) for midi, _, name in uppers),
    ]


def _repeat(strokes: Sequence[Sequence[Tone]], span: Span | None, length: Quarters) -> Iterator[ScoreNote]:
    moment, count = (span.onset, 0) if span else (Fraction(0), 0)
    while span and moment < span.offset:
        for tone in strokes[count % len(strokes)]:
            yield _note(tone, _from(span, moment, length), _CHORDS)
        moment, count = moment + length, count + 1


def _from(span: Span, moment: Quarters, length: Quarters) -> Span:
    return Span(moment, min(moment + length, span.offset))


def _after(span: Span, length: Quarters) -> Span | None:
    return Span(span.onset + length, span.offset) if span.duration > length else None


def _note(tone: Tone, span: Span, voice: int) -> ScoreNote:
    return ScoreNote(span=span, pitch=Pitch.at(tone[1], tone[0]), voice=voice)
