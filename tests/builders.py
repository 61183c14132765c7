"""Small arrangements built by hand, for tests of every room.

A line is written ``"E4:1 F#4:1/2 r:1/2 C4+E4:2"``: pitches in sounding octaves (C4 is
middle C, ``#`` and ``b`` alter), then the length in quarters; ``r`` is a rest and ``+``
joins notes struck together. Where no place is given a note lies on the string where its
fret is lowest, stopped by the finger of that fret.
"""

from collections.abc import Iterable, Sequence
from dataclasses import replace
from fractions import Fraction
from itertools import accumulate
from typing import Any

from apoyando.model.arrangement import Arrangement, Barre, Note, Role, SearchSummary
from apoyando.model.hand import Finger, Pluck
from apoyando.model.harmony import Chord, HarmonySpan
from apoyando.model.instrument import STANDARD_TUNING, Fret, Place, StringNumber, Tuning
from apoyando.model.pitch import UNISON, Key, Mode, Pitch, PitchName, Step
from apoyando.model.song import Bar, Barline, Jump, MelodyNote, Meter, Song
from apoyando.model.time import Quarters, Span

Length = Fraction | int | str


def make_span(onset: Length, duration: Length) -> Span:
    start = Fraction(onset)
    return Span(start, start + Fraction(duration))


def make_name(text: str) -> PitchName:
    """``"F#"``, ``"Bb"``, ``"C"``."""
    return PitchName(Step(text[0]), text.count("#") - text[1:].count("b"))


def make_pitch(text: str) -> Pitch:
    """``"F#4"``; the octave is the last character."""
    return Pitch(make_name(text[:-1]), int(text[-1]))


def make_meter(text: str) -> Meter:
    """``"6/8"``, ``"2+3/8"``, ``"C"`` (common) or ``"C|"`` (cut)."""
    if text == "C":
        return Meter(4, 4, "common")
    if text == "C|":
        return Meter(2, 2, "cut")
    beats, unit = text.split("/")
    groups = tuple(int(count) for count in beats.split("+"))
    return Meter(sum(groups), int(unit), groups=groups if len(groups) > 1 else ())


def make_bars(
    count: int,
    meter: str = "4/4",
    fifths: int = 0,
    pickup: Length = 0,
    mode: Mode = Mode.MAJOR,
) -> tuple[Bar, ...]:
    """``count`` full bars, after a pickup of so many quarters if any; the last barline is final."""
    signature, key = make_meter(meter), Key(fifths, mode)
    lengths = [Fraction(pickup)] * bool(Fraction(pickup)) + [signature.bar_length] * count
    onsets = [Fraction(0), *accumulate(lengths)]
    first = 0 if Fraction(pickup) else 1
    bars = [
        Bar(
            index=index,
            number=str(first + index),
            span=Span(onset, onset + length),
            meter=signature,
            key=key,
            is_pickup=index == 0 and bool(Fraction(pickup)),
        )
        for index, (onset, length) in enumerate(zip(onsets, lengths, strict=False))
    ]
    return (*bars[:-1], replace(bars[-1], barline=Barline.FINAL))


def change_bar(bars: Sequence[Bar], index: int, **changes: Any) -> tuple[Bar, ...]:
    """The same bars with one of them changed: ``change_bar(bars, 0, starts_repeat=True)``."""
    return (*bars[:index], replace(bars[index], **changes), *bars[index + 1 :])


_JUMPS = {
    "S": Jump.SEGNO,
    "O": Jump.CODA,
    "To": Jump.TO_CODA,
    "Fine": Jump.FINE,
    "DC": Jump.DA_CAPO,
    "DS": Jump.DAL_SEGNO,
}


def make_form(text: str) -> tuple[Bar, ...]:
    """Bars between ``|``, each with its marks: ``:`` first or last, ``[1,2``, ``x3``, or a key of _JUMPS.

    ``always``: the repeat that ends there is taken after a jump too.

    ``": A | B [1 : | C [2"``: a letter only names the bar for the reader.
    """
    return tuple(
        _make_marked_bar(bar, cell.split())
        for bar, cell in zip(make_bars(text.count("|") + 1), text.split("|"), strict=True)
    )


def _make_marked_bar(bar: Bar, words: list[str]) -> Bar:
    numbers = [word[1:] for word in words if word.startswith("[")]
    times = [int(word[1:]) for word in words if word.startswith("x")]
    ends_repeat = words[-1] == ":"
    return replace(
        bar,
        starts_repeat=words[0] == ":",
        repeat_times=(times or [2])[0] if ends_repeat else 0,
        repeats_after_jump="always" in words,
        endings=tuple(int(number) for word in numbers for number in word.split(",")),
        jumps=tuple(_JUMPS[word] for word in words if word in _JUMPS),
    )


def lowest_place(midi: int, tuning: Tuning = STANDARD_TUNING) -> Place:
    """Where the fret is lowest."""
    frets = {string: midi - open_note for string, open_note in enumerate(tuning.open_strings, 1)}
    string = min((s for s, fret in frets.items() if fret >= 0), key=lambda s: frets[s])
    return Place(StringNumber(string), Fret(frets[string]))


def make_note(  # noqa: PLR0913, PLR0917 - a note has that many things
    role: Role | str,
    onset: Length,
    duration: Length,
    pitch: str,
    string: int | None = None,
    finger: int | None = None,
    pluck: str | None = None,
    tuning: Tuning = STANDARD_TUNING,
    **more: Any,
) -> Note:
    """One note; string and finger as for the lowest fret unless given."""
    sound = make_pitch(pitch)
    place = lowest_place(sound.midi, tuning)
    if string is not None:
        place = Place(StringNumber(string), Fret(sound.midi - tuning.open_note(StringNumber(string))))
    return Note(
        role=Role(role),
        span=make_span(onset, duration),
        pitch=sound,
        place=place,
        finger=Finger(min(place.fret, 4) if finger is None else finger),
        pluck=Pluck(pluck) if pluck else None,
        **more,
    )


def make_harmonic(  # noqa: PLR0913, PLR0917 - a harmonic has that many things
    role: Role | str, onset: Length, duration: Length, pitch: str, string: int, fret: int, finger: int = 3
) -> Note:
    """A natural harmonic: the pitch that sounds, and where the string is touched."""
    note = make_note(role, onset, duration, pitch)
    place = Place(StringNumber(string), Fret(fret))
    return replace(note, place=place, finger=Finger(finger), is_harmonic=True)


def make_line(
    role: Role | str, text: str, start: Length = 0, tuning: Tuning = STANDARD_TUNING
) -> tuple[Note, ...]:
    """``"E4:1 r:1/2 C4+E4:2"`` -> notes one after another from ``start``."""
    now = Fraction(start)
    notes: list[Note] = []
    for word in text.split():
        pitches, length = word.split(":")
        if pitches != "r":
            notes += [make_note(role, now, length, pitch, tuning=tuning) for pitch in pitches.split("+")]
        now += Fraction(length)
    return tuple(notes)


def make_harmony(text: str, start: Length = 0) -> tuple[HarmonySpan, ...]:
    """``"C:4 Am.minor:2 N.C.:2 D.dominant/F#:4"``: root, ``.kind``, ``/bass``, length; ``-`` leaves a gap."""
    now = Fraction(start)
    spans: list[HarmonySpan] = []
    for word in text.split():
        symbol, length = word.rsplit(":", 1)
        if symbol != "-":
            spans.append(HarmonySpan(make_span(now, length), _make_chord(symbol)))
        now += Fraction(length)
    return tuple(spans)


def _make_chord(symbol: str) -> Chord | None:
    if symbol == "N.C.":
        return None
    above, _, bass = symbol.partition("/")
    root, _, kind = above.partition(".")
    return Chord(root=make_name(root), kind=kind or "major", bass=make_name(bass) if bass else None)


def make_song(melody: str, harmony: str, meter: str = "4/4", count: int = 2, pickup: str = "0") -> Song:
    """``melody`` like "E4:1 F4:1/2 r:1/2"."""
    notes: list[MelodyNote] = []
    onset = Fraction(0)
    for word in melody.split():
        name, length = word.split(":")
        if name != "r":
            notes.append(MelodyNote(span=Span(onset, onset + Fraction(length)), pitch=make_pitch(name)))
        onset += Fraction(length)
    bars = make_bars(count, meter, pickup=pickup)
    return Song(title="Song", bars=bars, melody=tuple(notes), harmony=make_harmony(harmony))


def make_barre(
    fret: int, lowest_string: int, onset: Length, duration: Length, highest_string: int = 1, finger: int = 1
) -> Barre:
    span, highest = make_span(onset, duration), StringNumber(highest_string)
    return Barre(Fret(fret), StringNumber(lowest_string), span, highest, Finger(finger))


def make_arrangement(notes: Iterable[Note], bars: Sequence[Bar] | None = None, **more: Any) -> Arrangement:
    """An arrangement with plain defaults; without ``bars`` as many of 4/4 as the notes need."""
    listed = tuple(sorted(notes, key=lambda note: (note.onset, note.pitch.midi)))
    end: Quarters = max((note.offset for note in listed), default=Fraction(4))
    rows = tuple(bars) if bars is not None else make_bars(-int(-end // 4))
    fields: dict[str, Any] = {
        "title": "A Small Tune",
        "composer": "",
        "lyricist": "",
        "rights": "",
        "key": rows[0].key,
        "transposition": UNISON,
        "tuning": STANDARD_TUNING,
        "capo": 0,
        "level": "intermediate",
        "texture": "running-eighths",
        "tempo_quarters_per_minute": Fraction(96),
        "tempo_words": "",
        "barres": (),
        "harmony": (),
        "is_arranged": True,
        "search": SearchSummary(price=0.0, lower_bound=0.0, is_optimal=True),
    }
    return Arrangement(bars=rows, notes=listed, **{**fields, **more})


def small_arrangement() -> Arrangement:
    """Two bars of C major: melody over a held bass and off-beat eighths."""
    melody = make_line("melody", "E4:1 G4:1 C5:2 B4:1 A4:1 G4:2")
    bass = make_line("bass", "C3:2 C3:2 G2:2 G2:2")
    inner = make_line(
        "inner", "r:1/2 E3:1/2 r:1/2 G3:1/2 r:1/2 E3:1/2 G3:1/2 E3:1/2 r:1/2 D3:1/2 r:1/2 B3:1/2"
    )
    return make_arrangement((*melody, *bass, *inner), harmony=make_harmony("C:4 G:4"))
