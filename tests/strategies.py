"""Random small songs, as a reader could have read them."""

from dataclasses import replace
from fractions import Fraction
from itertools import accumulate, pairwise

from hypothesis import strategies as st

from apoyando.model.arrangement import Role
from apoyando.model.hand import FINGERS, Finger
from apoyando.model.harmony import KIND_DEGREES, Chord, HarmonySpan
from apoyando.model.instrument import LAST_FRET, STRINGS, Fret
from apoyando.model.locks import (
    AvoidFingerLock,
    FreeFingerLock,
    Lock,
    NoBarreLock,
    NoteLock,
    PositionLock,
    ShapeLock,
    Stretch,
)
from apoyando.model.pitch import Key, Pitch, PitchName
from apoyando.model.song import Bar, Barline, Jump, MelodyNote, Song
from apoyando.model.time import Span
from builders import make_bars, make_meter

LENGTHS = tuple(Fraction(text) for text in ("1/4", "1/2", "1/2", "3/4", "1", "1", "3/2", "2", "3", "1/3"))
names = st.integers(-4, 6).map(PitchName.from_fifths)
chords = st.builds(
    lambda root, kind, bass: Chord(root=root, kind=kind, bass=bass),
    names,
    st.sampled_from(sorted(KIND_DEGREES)),
    st.none() | st.none() | names,
)


@st.composite
def songs(draw: st.DrawFn, lowest: int = 52, highest: int = 79, most_bars: int = 4) -> Song:
    """A song of a few bars: any rhythm, rests, any chords, N.C. and stretches without harmony."""
    bars = make_bars(
        draw(st.integers(1, most_bars)),
        draw(st.sampled_from(("4/4", "3/4", "6/8", "2/4", "5/4", "C|"))),
        fifths=draw(st.integers(-3, 4)),
        pickup=draw(st.sampled_from(("0", "0", "1", "1/2"))),
    )
    return Song(
        title="A small song",
        bars=bars,
        melody=draw(_melodies(bars[-1].offset, lowest, highest)),
        harmony=draw(_harmonies(bars)),
        tempo_quarters_per_minute=draw(st.sampled_from((None, Fraction(60), Fraction(132), Fraction(200)))),
    )


@st.composite
def marked(draw: st.DrawFn, bars: tuple[Bar, ...]) -> tuple[Bar, ...]:
    """Bars under any marks of the form at all, sensible or not."""
    marks = st.lists(st.sampled_from(list(Jump)), max_size=2, unique=True)
    return tuple(
        replace(
            bar,
            starts_repeat=draw(st.booleans()),
            repeat_times=draw(st.sampled_from([0, 0, 1, 2, 3])),
            endings=tuple(draw(st.lists(st.integers(1, 3), max_size=2, unique=True))),
            jumps=tuple(draw(marks)),
        )
        for bar in bars
    )


@st.composite
def songs_with_form(draw: st.DrawFn, most_bars: int = 8) -> Song:
    """A song with marks of the form: any at all, or a few that make sense to a reader."""
    song = draw(songs(most_bars=most_bars))
    if draw(st.booleans()):
        return replace(song, bars=draw(marked(song.bars)))
    bars = list(song.bars)
    for index, bar in enumerate(bars):
        if not draw(st.integers(0, 3)):
            bars[index] = replace(
                bar,
                repeat_times=draw(st.sampled_from((0, 2))),
                barline=draw(st.sampled_from(Barline)),
                section=draw(st.sampled_from(("", "A"))),
            )
    return replace(song, bars=tuple(bars))


@st.composite
def _melodies(draw: st.DrawFn, end: Fraction, lowest: int, highest: int) -> tuple[MelodyNote, ...]:
    lengths = draw(st.lists(st.sampled_from(LENGTHS), min_size=1, max_size=24))
    cuts = [cut for cut in accumulate(lengths, initial=Fraction(0)) if cut < end] + [end]
    notes: list[MelodyNote] = []
    midi = draw(st.integers(lowest, highest))
    for onset, offset in pairwise(cuts):
        midi = min(max(midi + draw(st.integers(-7, 7)), lowest), highest)
        if draw(st.integers(0, 9)) or not notes:
            notes.append(MelodyNote(span=Span(onset, offset), pitch=_spelled(midi)))
    return tuple(notes)


def _spelled(midi: int) -> Pitch:
    name = next(n for n in map(PitchName.from_fifths, range(-3, 9)) if n.pitch_class == midi % 12)
    return Pitch.at(name, midi)


@st.composite
def _harmonies(draw: st.DrawFn, bars: tuple[Bar, ...]) -> tuple[HarmonySpan, ...]:
    cuts = [bar.onset for bar in bars if draw(st.booleans())]
    cuts += [bar.onset + Fraction(3, 2) for bar in bars if not draw(st.integers(0, 4))]
    cuts = sorted({cut for cut in cuts if cut < bars[-1].offset} or {Fraction(0)})
    return tuple(
        HarmonySpan(Span(onset, offset), draw(chords) if draw(st.integers(0, 7)) else None)
        for onset, offset in pairwise([*cuts, bars[-1].offset])
    )


# Locks, as a plan file could hold them.

_bars = st.integers(0, 40).map(str) | st.sampled_from(("12b", "X1", "007", "3 bis"))
_beats = st.builds(
    lambda whole, part: whole + Fraction(part), st.integers(1, 9), st.sampled_from(["0", "1/2", "1/3", "2/5"])
)
_pressing = st.sampled_from(FINGERS)


@st.composite
def stretches(draw: st.DrawFn) -> Stretch:
    """Of one bar or several, with or without beats."""
    beat, later = draw(st.none() | _beats), draw(st.none() | _beats)
    until = None if later is None else (beat or Fraction(1)) + later
    return Stretch(bar=draw(_bars), to_bar=draw(st.just("") | _bars), beat=beat, until_beat=until)


@st.composite
def note_locks(draw: st.DrawFn) -> NoteLock:
    if draw(st.integers(0, 3)) == 0:
        voice = draw(st.sampled_from((Role.BASS, Role.INNER)))
        return NoteLock(bar=draw(_bars), beat=draw(_beats), voice=voice, is_silent=True)
    fret = draw(st.none() | st.integers(0, LAST_FRET).map(Fret))
    fingers = st.sampled_from((Finger.OPEN,) if fret == 0 else FINGERS if fret else tuple(Finger))
    string, finger = draw(st.none() | st.sampled_from(STRINGS)), draw(st.none() | fingers)
    return NoteLock(
        bar=draw(_bars),
        beat=draw(_beats),
        voice=draw(st.sampled_from(Role)),
        string=STRINGS[0] if {string, fret, finger} == {None} else string,
        fret=fret,
        finger=finger,
    )


@st.composite
def shape_locks(draw: st.DrawFn) -> ShapeLock:
    """Each finger at one fret: fingers in the order of the frets, or none named."""
    stopped = sorted(draw(st.sets(st.integers(1, LAST_FRET), max_size=len(FINGERS))))
    by_fret = {0: Finger.OPEN, **dict(zip(stopped, FINGERS, strict=False))}
    any_fret = st.none() | st.sampled_from([Fret(fret) for fret in by_fret])
    frets = tuple(draw(st.lists(any_fret, min_size=6, max_size=6).filter(lambda frets: set(frets) != {None})))
    fingers = tuple(None if fret is None else by_fret[fret] for fret in frets)
    return ShapeLock(draw(stretches()), frets, fingers if draw(st.booleans()) else ())


locks: st.SearchStrategy[Lock] = st.one_of(
    note_locks(),
    shape_locks(),
    st.builds(PositionLock, stretches(), st.integers(1, LAST_FRET)),
    st.builds(NoBarreLock, st.just(Stretch()) | stretches()),
    st.builds(FreeFingerLock, st.just(Stretch()) | stretches(), _pressing),
    st.builds(AvoidFingerLock, st.just(Stretch()) | stretches(), _pressing),
)


# Songs at the edge of what can be asked.

EXTREME_METERS = (
    "5/8",
    "7/8",
    "2+3/8",
    "3+2+2/8",
    "7/4",
    "3/2",
    "5/4",
    "11/8",
    "12/8",
    "3/8",
    "2/4",
    "4/4",
    "C|",
    "6/8",
)
EXTREME_LENGTHS = tuple(
    Fraction(text)
    for text in ("1/8", "1/4", "1/3", "2/3", "1/5", "2/5", "1/6", "3/8", "1/2", "1", "7/4", "3", "5")
)
RANGES = (
    (60, 60),
    (40, 40),
    (83, 83),
    (62, 64),
    (40, 88),
    (30, 52),
    (76, 100),
    (12, 36),
    (48, 84),
    (36, 108),
)
"""As MIDI notes: one note, two or three, all strings, below them and above the last fret, far outside, four octaves."""


@st.composite
def extreme_songs(draw: st.DrawFn, most_bars: int = 4) -> Song:
    """Odd and changing meters, long pickups, any range, tuplets, a chord on each beat of any kind and bass."""
    bars = draw(_changing_bars(most_bars))
    lowest, highest = draw(st.sampled_from(RANGES))
    return Song(
        title="A song at the edge",
        bars=bars,
        melody=draw(_extreme_melodies(bars[-1].offset, lowest, highest)),
        harmony=draw(_dense_harmonies(bars)),
        tempo_quarters_per_minute=draw(st.sampled_from((None, Fraction(30), Fraction(92), Fraction(240)))),
    )


@st.composite
def _changing_bars(draw: st.DrawFn, most_bars: int) -> tuple[Bar, ...]:
    count, key = draw(st.integers(1, most_bars)), Key(draw(st.integers(-6, 6)))
    meters = [make_meter(draw(st.sampled_from(EXTREME_METERS)))]
    for _ in range(count - 1):
        meters.append(
            make_meter(draw(st.sampled_from(EXTREME_METERS))) if draw(st.booleans()) else meters[-1]
        )
    first = meters[0].bar_length
    lengths = [meter.bar_length for meter in meters]
    has_pickup = count > 1 and draw(st.booleans())
    if has_pickup:
        lengths[0] = draw(
            st.sampled_from((first - Fraction(1, 2), first / 2, Fraction(1, 2), Fraction(1, 3)))
        )
    onsets = list(accumulate(lengths, initial=Fraction(0)))
    return tuple(
        Bar(
            index=index,
            number=str(index if has_pickup else index + 1),
            span=Span(onset, offset),
            meter=meter,
            key=key,
            is_pickup=has_pickup and index == 0,
            barline=Barline.FINAL if index == count - 1 else Barline.REGULAR,
        )
        for index, (meter, (onset, offset)) in enumerate(zip(meters, pairwise(onsets), strict=True))
    )


@st.composite
def _extreme_melodies(draw: st.DrawFn, end: Fraction, lowest: int, highest: int) -> tuple[MelodyNote, ...]:
    """Leaps as far as the range goes; a run of one length has its tuplets whole."""
    now, notes = Fraction(0), list[MelodyNote]()
    while now < end and len(notes) < MOST_NOTES:
        length = draw(st.sampled_from(EXTREME_LENGTHS))
        for _ in range(max(length.denominator, 1) if length.denominator in {3, 5, 6} else 1):
            offset = min(now + length, end)
            if now < end and (draw(st.integers(0, 6)) or not notes):
                midi = draw(st.integers(lowest, highest))
                notes.append(MelodyNote(span=Span(now, offset), pitch=_spelled(midi)))
            now = offset
    return tuple(notes)


MOST_NOTES = 30


@st.composite
def _dense_harmonies(draw: st.DrawFn, bars: tuple[Bar, ...]) -> tuple[HarmonySpan, ...]:
    """On each beat, each bar, or once; a chord in eight is N.C."""
    step = draw(st.sampled_from((Fraction(1, 2), Fraction(1), None)))
    cuts = {bar.onset for bar in bars}
    if step:
        cuts |= {bar.onset + place * step for bar in bars for place in range(int(bar.duration / step))}
    return tuple(
        HarmonySpan(Span(onset, offset), draw(chords) if draw(st.integers(0, 7)) else None)
        for onset, offset in pairwise([*sorted(cuts), bars[-1].offset])
    )
