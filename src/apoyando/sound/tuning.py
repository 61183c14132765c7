"""The open strings one after another, to tune by: a small piece like any other."""

from fractions import Fraction

from apoyando.model.arrangement import AS_WRITTEN, Arrangement, Note, Role, SearchSummary
from apoyando.model.hand import Finger
from apoyando.model.instrument import OPEN, STRINGS, Place, Tuning
from apoyando.model.pitch import NATURAL_SEMITONES, UNISON, Key, MidiNote, Mode, Pitch, PitchName
from apoyando.model.song import Bar, Meter
from apoyando.model.time import Span

TIMES_EACH = 2
"""Once to hear it, once to turn the peg."""
_FOUR_FOUR = Meter(4, 4)
_QUARTERS_PER_MINUTE = Fraction(60)


def name_strings(tuning: Tuning) -> str:
    """Low to high: "E A D G B E"."""
    return " ".join(str(_pitch(note).name) for note in reversed(tuning.open_strings))


def make_tuning_piece(tuning: Tuning) -> Arrangement:
    """Each open string from the lowest, twice, for a bar of four seconds each."""
    key = Key(0, Mode.MAJOR)
    strings = [string for string in reversed(STRINGS) for _ in range(TIMES_EACH)]
    spans = [Span(Fraction(4 * index), Fraction(4 * index + 4)) for index in range(len(strings))]
    return Arrangement(
        title=f"Tuning: {name_strings(tuning)}",
        composer="",
        lyricist="",
        rights="",
        key=key,
        transposition=UNISON,
        tuning=tuning,
        capo=0,
        level="",
        texture=AS_WRITTEN,
        tempo_quarters_per_minute=_QUARTERS_PER_MINUTE,
        tempo_words="",
        bars=tuple(
            Bar(index=index, number=str(index + 1), span=span, meter=_FOUR_FOUR, key=key)
            for index, span in enumerate(spans)
        ),
        notes=tuple(
            Note(
                role=Role.MELODY,
                span=span,
                pitch=_pitch(tuning.open_note(string)),
                place=Place(string, OPEN),
                finger=Finger.OPEN,
            )
            for string, span in zip(strings, spans, strict=True)
        ),
        barres=(),
        harmony=(),
        search=SearchSummary(0.0, 0.0, is_optimal=True),
    )


def _pitch(note: MidiNote) -> Pitch:
    """Open strings are tuned to natural notes."""
    step = next(step for step, semitones in NATURAL_SEMITONES.items() if semitones == note % 12)
    return Pitch.at(PitchName(step), note)
