"""What stands around the notes of a measure: chord symbols, tempo, form, sections, dynamics; and brackets.

Each sign has an exact place in time; bar.py puts it among the notes of voice 1.
"""

from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise

from apoyando.engraving.musicxml.borders import tuning_elements
from apoyando.engraving.musicxml.brackets import Bracket, bracket_starts, bracket_stops
from apoyando.engraving.musicxml.frames import frame
from apoyando.engraving.musicxml.placed import Placed, decimal, make_direction
from apoyando.engraving.musicxml.xmltree import Element, element
from apoyando.engraving.notation.beats import COUNTED, metronome_value
from apoyando.engraving.notation.chord_symbols import NO_CHORD
from apoyando.engraving.notation.harmonic_words import list_harmonic_words
from apoyando.engraving.notation.jumps import word_jumps
from apoyando.engraving.notation.score import MELODY_VOICE, NotatedScore
from apoyando.engraving.notation.tuning_words import capo_note, tuning_notes
from apoyando.model.arrangement import Arrangement
from apoyando.model.chord_text import KIND_TEXT
from apoyando.model.dynamics import Layer, Loudness
from apoyando.model.hand_shape import HandShape
from apoyando.model.harmony import Chord, Degree
from apoyando.model.instrument import STANDARD_TUNING, STRINGS
from apoyando.model.pitch import PitchName
from apoyando.model.song import Bar, Jump
from apoyando.model.time import Quarters

SEGNO_NAME = "segno"
CODA_NAME = "coda"
"""MusicXML ties a jump to its mark by a name of our choice; SMuFL calls the signs so too."""


def placed_signs(score: NotatedScore, index: int, brackets: Sequence[Bracket]) -> tuple[Placed, ...]:
    """The signs of one bar from left to right; ``brackets`` are those of the piece."""
    bar = score.bars[index].bar
    signs = (
        *bracket_stops(brackets, bar),
        *_bar_start(score, index),
        *_dynamics(score.arrangement, bar),
        *_harmony(score, bar),
        *_harmonic_words(score.arrangement, bar),
        *bracket_starts(brackets, bar),
        *_bar_end(score.arrangement, bar),
    )
    return tuple(sorted(signs, key=lambda sign: sign.onset))


# --- chord symbols -------------------------------------------------------------------


def _harmony(score: NotatedScore, bar: Bar) -> Iterator[Placed]:
    """Each span where it starts. A gap, where the source says nothing, ends a chord unprinted."""
    diagrams = {diagram.onset: diagram.shape for diagram in score.diagrams}
    for span in score.arrangement.harmony:
        if bar.span.contains(span.onset):
            yield _chord(span.onset, span.chord, diagrams.get(span.onset))
    for one, other in pairwise(score.arrangement.harmony):
        if one.offset < other.onset and bar.span.contains(one.offset):
            yield _no_chord(one.offset, {"print-object": "no"})


def _chord(onset: Quarters, chord: Chord | None, shape: HandShape | None = None) -> Placed:
    if chord is None:
        return _no_chord(onset, {})
    return Placed(
        onset,
        "harmony",
        (
            _name("root", chord.root),
            element("kind", chord.kind, text=KIND_TEXT[chord.kind]),
            *([_name("bass", chord.bass)] if chord.bass else []),
            *(_degree(degree) for degree in chord.degrees),
            frame(shape) if shape else None,
        ),
    )


def _no_chord(onset: Quarters, attributes: Mapping[str, str]) -> Placed:
    """Kind ``none``; its root means nothing and has an empty text (MusicXML 4.0, ``kind-value``)."""
    root = element("root", element("root-step", "C", text=""))
    return Placed(onset, "harmony", (root, element("kind", "none", text=NO_CHORD)), attributes=attributes)


def _name(tag: str, name: PitchName) -> Element:
    alter = element(f"{tag}-alter", name.alter) if name.alter else None
    return element(tag, element(f"{tag}-step", name.step), alter)


def _degree(degree: Degree) -> Element:
    return element(
        "degree",
        element("degree-value", degree.value),
        element("degree-alter", degree.alter),
        element("degree-type", degree.change),
    )


# --- tempo, sections, form -----------------------------------------------------------


def _bar_start(score: NotatedScore, index: int) -> Iterator[Placed]:
    bar = score.bars[index].bar
    if index == 0:
        yield from _capo_and_tuning(score.arrangement, bar)
        yield _tempo(score.arrangement, bar)
    if bar.section:
        yield make_direction(bar.onset, element("rehearsal", bar.section))
    if Jump.SEGNO in bar.jumps:
        yield make_direction(bar.onset, element("segno"), sound=element("sound", segno=SEGNO_NAME))
    if Jump.CODA in bar.jumps:
        yield make_direction(bar.onset, element("coda"), sound=element("sound", coda=CODA_NAME))


def _capo_and_tuning(arrangement: Arrangement, bar: Bar) -> Iterator[Placed]:
    if arrangement.capo:
        yield make_direction(bar.onset, element("words", capo_note(arrangement.capo)))
    retuned = [
        element("accord", *tuning_elements(arrangement.tuning.open_note(string)), string=string)
        for string in STRINGS
        if arrangement.tuning.open_note(string) != STANDARD_TUNING.open_note(string)
    ]
    if retuned:
        words = element("words", ", ".join(tuning_notes(arrangement.tuning)))
        yield make_direction(bar.onset, words, element("scordatura", *retuned))


def _tempo(arrangement: Arrangement, bar: Bar) -> Placed:
    quarters = arrangement.tempo_quarters_per_minute
    beat = metronome_value(bar.meter)
    words = [element("words", arrangement.tempo_words)] if arrangement.tempo_words else []
    metronome = element(
        "metronome",
        element("beat-unit", _BEAT_NAMES[beat.base]),
        *(element("beat-unit-dot") for _ in range(beat.dots)),
        element("per-minute", decimal(quarters / beat.quarters)),
    )
    return make_direction(bar.onset, *words, metronome, sound=element("sound", tempo=decimal(quarters)))


_BEAT_NAMES = dict(zip(COUNTED, ("whole", "half", "quarter", "eighth", "16th"), strict=True))


def _bar_end(arrangement: Arrangement, bar: Bar) -> Iterator[Placed]:
    for jump, words in word_jumps(arrangement.bars, bar):
        sign = [element("symbol", CODA_NAME)] if jump is Jump.TO_CODA else []
        sound = element("sound", **_JUMP_SOUNDS[jump])
        yield make_direction(bar.offset, [element("words", words), *sign], sound=sound)


_JUMP_SOUNDS = {
    Jump.FINE: {"fine": "yes"},
    Jump.TO_CODA: {"tocoda": CODA_NAME},
    Jump.DA_CAPO: {"dacapo": "yes"},
    Jump.DAL_SEGNO: {"dalsegno": SEGNO_NAME},
}
"""``sound`` attributes that say the same as the words."""


# --- harmonics -----------------------------------------------------------------------


def _harmonic_words(arrangement: Arrangement, bar: Bar) -> Iterator[Placed]:
    for onset, words in list_harmonic_words(arrangement).items():
        if bar.span.contains(onset):
            yield make_direction(onset, element("words", words))


# --- dynamics ------------------------------------------------------------------------

_PERCENT_OF_FORTE: Mapping[Loudness, int] = {
    Loudness.PPPP: 18,
    Loudness.PPP: 26,
    Loudness.PP: 40,
    Loudness.P: 54,
    Loudness.MP: 71,
    Loudness.MF: 89,
    Loudness.F: 100,
    Loudness.FF: 124,
    Loudness.FFF: 140,
    Loudness.FFFF: 141,
}
"""MusicXML 4.0, ``sound``: loudness in percent of a MIDI velocity of 90 (the steps: common practice, no source)."""
_VOICES = {Layer.MELODY: MELODY_VOICE, Layer.ACCOMPANIMENT: MELODY_VOICE + 1, Layer.ALL: None}


def _dynamics(arrangement: Arrangement, bar: Bar) -> Iterator[Placed]:
    for dynamic in arrangement.dynamics:
        if bar.span.contains(dynamic.onset):
            mark = element("dynamics", element(dynamic.loudness))
            percent = _PERCENT_OF_FORTE.get(dynamic.loudness)
            sound = element("sound", dynamics=percent) if percent else None
            placement = "above" if dynamic.is_above else "below"
            voice = _VOICES[dynamic.layer]
            yield make_direction(dynamic.onset, mark, sound=sound, placement=placement, voice=voice)
