"""Asks a page's physical questions again, from its MusicXML alone.

It imports nothing of the program that makes the pages and reads what any reader of the
file would: W3C MusicXML 4.0 (https://www.w3.org/2021/06/musicxml40/). The hand is that of
design.md, section 4, and the outer limits are those of levels.md, written down here once
more. Voice 1 is the melody, all others are the accompaniment.

As a command it prints a line for each file: ``python page_checker.py tune.musicxml …``.

Conventions: time in quarters as exact fractions; pitches are sounding MIDI notes; a
complaint is one sentence that starts with the bar.
"""

import argparse
import sys
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from itertools import combinations, pairwise
from pathlib import Path
from typing import Any

from lxml import etree

LIMITS_MM: Mapping[tuple[int, int], float] = {
    (1, 2): 69.0,
    (2, 3): 56.0,
    (3, 4): 56.0,
    (1, 3): 82.0,
    (2, 4): 73.0,
    (1, 4): 104.0,
}
"""Outer limits of the intermediate level (levels.md)."""

STANDARD_TUNING = {1: 64, 2: 59, 3: 55, 4: 50, 5: 45, 6: 40}
SEMITONES = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
HARMONICS = {12: 12, 7: 19, 19: 19, 5: 24, 4: 28, 9: 28, 16: 28}
"""Semitones above the open string of what sounds where it is touched: octave, twelfth, two octaves, and
two octaves and a third (series of partials 2 to 5; where they lie is told in any method for the guitar)."""
EIGHTH = Fraction(1, 2)
WIDE_ENOUGH_MM = 1e-6

KINDS = {
    "major": "1 3 5",
    "minor": "1 b3 5",
    "augmented": "1 3 #5",
    "diminished": "1 b3 b5",
    "dominant": "1 3 5 b7",
    "major-seventh": "1 3 5 7",
    "minor-seventh": "1 b3 5 b7",
    "diminished-seventh": "1 b3 b5 bb7",
    "augmented-seventh": "1 3 #5 b7",
    "half-diminished": "1 b3 b5 b7",
    "major-minor": "1 b3 5 7",
    "major-sixth": "1 3 5 6",
    "minor-sixth": "1 b3 5 6",
    "dominant-ninth": "1 3 5 b7 9",
    "major-ninth": "1 3 5 7 9",
    "minor-ninth": "1 b3 5 b7 9",
    "dominant-11th": "1 3 5 b7 9 11",
    "major-11th": "1 3 5 7 9 11",
    "minor-11th": "1 b3 5 b7 9 11",
    "dominant-13th": "1 3 5 b7 9 11 13",
    "major-13th": "1 3 5 7 9 11 13",
    "minor-13th": "1 b3 5 b7 9 11 13",
    "suspended-second": "1 2 5",
    "suspended-fourth": "1 4 5",
    "power": "1 5",
    "pedal": "1",
    # By function; the standard names their intervals, the root being the chord's own.
    "Neapolitan": "1 3 5",
    "Italian": "1 3 #6",
    "French": "1 3 #4 #6",
    "German": "1 3 5 #6",
    "Tristan": "1 #4 #6 #9",
}
"""MusicXML ``kind-value`` in degrees of the major scale on the root."""


TELLING_DEGREES = (2, 3, 4, 7)


@dataclass(frozen=True)
class Sound:
    """A note as it sounds: tied heads are one. ``place`` is (string, fret) where it is written."""

    bar: str
    onset: Fraction
    offset: Fraction
    voice: int
    midi: int
    place: tuple[int, int] | None
    finger: int | None
    open_midi: int | None
    """What the open string gives, tuning and capo reckoned in."""
    is_harmonic: bool = False

    @property
    def is_melody(self) -> bool:
        return self.voice == 1

    def __str__(self) -> str:
        at = f" on string {self.place[0]}" if self.place else ""
        return f"MIDI {self.midi}{at} in voice {self.voice}"


@dataclass(frozen=True)
class ChordSymbol:
    """``tones`` are pitch classes; empty where no chord is wanted.

    ``telling`` are those that tell the chord: its third, or the second or fourth that stands
    for it, and its seventh.
    """

    onset: Fraction
    tones: frozenset[int]
    telling: frozenset[int] = frozenset()


@dataclass
class PageBar:
    """One measure: what fills each voice, in quarters from the bar's start."""

    number: str
    onset: Fraction
    nominal: Fraction | None
    is_implicit: bool
    is_at_repeat: bool
    fills: dict[int, list[tuple[Fraction, Fraction]]] = field(default_factory=lambda: defaultdict(list))
    forwards: list[tuple[int | None, Fraction, Fraction]] = field(default_factory=list)

    @property
    def length(self) -> Fraction:
        ends = [end for spans in self.fills.values() for _, end in spans]
        return max([*ends, *(end for _, _, end in self.forwards)], default=Fraction(0))


@dataclass
class Page:
    """What the file says, and what was wrong already in reading it."""

    bars: list[PageBar] = field(default_factory=list)
    sounds: list[Sound] = field(default_factory=list)
    chords: list[ChordSymbol] = field(default_factory=list)
    complaints: list[str] = field(default_factory=list)


@dataclass(frozen=True)
class Figures:
    """Numbers of a page. ``motion`` is a share from 0 to 1, None without accompaniment."""

    bars: int
    notes: int
    held: int
    motion: float | None


# ---- reading ------------------------------------------------------------------------


@dataclass
class _State:
    """What stays in force from bar to bar."""

    divisions: Fraction = Fraction(1)
    nominal: Fraction | None = None
    tuning: dict[int, int] = field(default_factory=lambda: dict(STANDARD_TUNING))
    capo: int = 0
    transpose: int = 0
    onset: Fraction = Fraction(0)
    cursor: Fraction = Fraction(0)
    last_note: Fraction = Fraction(0)
    open_ties: dict[tuple[int, int], int] = field(default_factory=dict)
    tablatures: set[str] = field(default_factory=set)
    """Staves of tablature under another one, which they repeat."""


def read_page(xml: bytes) -> Page:
    """Read a partwise score with one part. Raises ValueError for anything else."""
    parser = etree.XMLParser(resolve_entities=False, no_network=True, load_dtd=False)
    try:
        root = etree.fromstring(xml, parser)
    except etree.XMLSyntaxError as error:
        message = f"not XML: {error}"
        raise ValueError(message) from error
    parts = root.findall("part")
    if root.tag != "score-partwise" or len(parts) != 1:
        message = f"not a partwise score with one part: <{root.tag}>, {len(parts)} parts"
        raise ValueError(message)
    page, state = Page(), _State()
    for measure in parts[0].findall("measure"):
        _read_measure(page, state, measure)
    for index in state.open_ties.values():
        page.complaints.append(f"bar {page.sounds[index].bar}: {page.sounds[index]} is tied to nothing")
    return page


def _read_measure(page: Page, state: _State, measure: Any) -> None:
    repeats = measure.findall("barline/repeat") + measure.findall("barline/ending")
    bar = PageBar(
        number=measure.get("number", "?"),
        onset=state.onset,
        nominal=state.nominal,
        is_implicit=measure.get("implicit") == "yes",
        is_at_repeat=bool(repeats),
    )
    page.bars.append(bar)
    state.cursor = Fraction(0)
    for element in measure:
        reader = _READERS.get(element.tag)
        if reader:
            reader(page, state, element)
    state.onset += bar.length


def _read_attributes(page: Page, state: _State, element: Any) -> None:
    if element.find("divisions") is not None:
        state.divisions = Fraction(element.findtext("divisions"))
    if element.find("time/beats") is not None:
        # "3+2" over 8: the standard allows a sum.
        beats = sum(int(part) for part in element.findtext("time/beats").split("+"))
        state.nominal = Fraction(4 * beats, int(element.findtext("time/beat-type")))
        page.bars[-1].nominal = state.nominal
    for clef in element.findall("clef[@number]"):
        if clef.findtext("sign") == "TAB" and clef.get("number") != "1":
            state.tablatures.add(clef.get("number"))
    for details in element.findall("staff-details"):
        _read_strings(state, details)
    if element.find("transpose") is not None:
        chromatic = int(element.findtext("transpose/chromatic") or 0)
        octaves = int(element.findtext("transpose/octave-change") or 0)
        state.transpose = chromatic + 12 * octaves


def _read_strings(state: _State, details: Any) -> None:
    lines = details.findall("staff-tuning")
    for line in lines:
        # Lines are numbered from the bottom, strings from the top.
        string = len(lines) + 1 - int(line.get("line"))
        state.tuning[string] = _midi(line, "tuning-")
    if details.find("capo") is not None:
        state.capo = int(details.findtext("capo"))


def _midi(element: Any, prefix: str = "") -> int:
    step, octave = element.findtext(f"{prefix}step"), int(element.findtext(f"{prefix}octave"))
    alter = int(Fraction(element.findtext(f"{prefix}alter") or "0"))
    return 12 * (octave + 1) + SEMITONES[step] + alter


def _read_move(page: Page, state: _State, element: Any) -> None:
    length = Fraction(element.findtext("duration")) / state.divisions
    bar = page.bars[-1]
    if element.findtext("staff") in state.tablatures:
        state.cursor += length
        return
    if element.tag == "forward":
        voice = element.findtext("voice")
        start, state.cursor = state.cursor, state.cursor + length
        bar.forwards.append((int(voice) if voice else None, start, state.cursor))
        return
    state.cursor -= length
    if state.cursor < 0:
        page.complaints.append(f"bar {bar.number}: goes back to before its start")
        state.cursor = Fraction(0)


def _read_note(page: Page, state: _State, element: Any) -> None:
    bar = page.bars[-1]
    if element.find("grace") is not None or element.find("cue") is not None:
        page.complaints.append(f"bar {bar.number}: a grace or cue note, which nobody checks")
        return
    length = Fraction(element.findtext("duration")) / state.divisions
    if element.findtext("staff") in state.tablatures:
        state.cursor += length if element.find("chord") is None else 0
        return
    voice = int(element.findtext("voice") or 1)
    if element.find("chord") is None:
        state.last_note, state.cursor = state.cursor, state.cursor + length
        bar.fills[voice].append((state.last_note, state.cursor))
    if element.find("pitch") is not None:
        _add_sound(page, state, element, _sound(bar, state, element, voice, length))


def _sound(bar: PageBar, state: _State, element: Any, voice: int, length: Fraction) -> Sound:
    technical = "notations/technical/"
    string, fret = element.findtext(f"{technical}string"), element.findtext(f"{technical}fret")
    finger = element.findtext(f"{technical}fingering")
    onset = state.onset + state.last_note
    return Sound(
        bar=bar.number,
        onset=onset,
        offset=onset + length,
        voice=voice,
        midi=_midi(element.find("pitch")) + state.transpose,
        place=(int(string), int(fret)) if string and fret else None,
        finger=int(finger) if finger and finger.strip().isdecimal() else None,
        open_midi=state.tuning[int(string)] + state.capo if string and int(string) in state.tuning else None,
        is_harmonic=element.find(f"{technical}harmonic/natural") is not None,
    )


def _add_sound(page: Page, state: _State, element: Any, sound: Sound) -> None:
    ties = {tie.get("type") for tie in element.findall("tie")}
    index = _begin(page, state, sound) if "stop" in ties else None
    if index is None:
        page.sounds.append(sound)
        index = len(page.sounds) - 1
    if "start" in ties:
        state.open_ties[sound.voice, sound.midi] = index


def _begin(page: Page, state: _State, head: Sound) -> int | None:
    """The sound that a tied head goes on with; its place and finger stay as they were."""
    index = state.open_ties.pop((head.voice, head.midi), None)
    if index is None or page.sounds[index].offset != head.onset:
        # The second ending of a repeat goes on with a note that is not written just before it.
        if not page.bars[-1].is_at_repeat:
            page.complaints.append(f"bar {head.bar}: {head} is tied from nothing")
        return None
    before = page.sounds[index]
    if head.place not in {None, before.place} or head.finger not in {None, before.finger}:
        page.complaints.append(f"bar {head.bar}: {head} changes string, fret or finger within a tie")
    page.sounds[index] = replace(before, offset=head.offset)
    return index


def _read_harmony(page: Page, state: _State, element: Any) -> None:
    offset = Fraction(element.findtext("offset") or 0) / state.divisions
    onset = state.onset + state.cursor + offset
    kind = (element.findtext("kind") or "").strip()
    if kind == "none":
        page.chords.append(ChordSymbol(onset, frozenset()))
    elif kind not in KINDS or element.find("root") is None:
        page.complaints.append(f"bar {page.bars[-1].number}: a chord symbol of no known kind: {kind!r}")
    else:
        page.chords.append(_chord(element, kind, onset, state.transpose))


def _chord(element: Any, kind: str, onset: Fraction, transpose: int) -> ChordSymbol:
    """Symbols are written as the notes are: with a capo both sound higher (MusicXML 4.0, ``transpose``)."""
    degrees = dict(_degree(word) for word in KINDS[kind].split())
    for change in element.findall("degree"):
        value, alter = int(change.findtext("degree-value")), int(change.findtext("degree-alter"))
        how = change.findtext("degree-type")
        if how == "subtract":
            degrees.pop(value, None)
        elif how == "alter":
            degrees[value] = degrees.get(value, _major(value)) + alter
        else:
            # Added tones count from a dominant chord: the seventh is the minor one.
            degrees[value] = _major(value) - (value == 7) + alter
    root = (_pitch_class(element.find("root"), "root-") + transpose) % 12
    bass = element.find("bass")
    tones = {value: (root + semitones) % 12 for value, semitones in degrees.items()}
    below = {(_pitch_class(bass, "bass-") + transpose) % 12} if bass is not None else set()
    telling = frozenset(tone for value, tone in tones.items() if value in TELLING_DEGREES)
    return ChordSymbol(onset, frozenset(tones.values()) | below, telling)


def _degree(word: str) -> tuple[int, int]:
    """``"b7"`` -> (7, 10)."""
    value = int(word.lstrip("b#"))
    return value, _major(value) + word.count("#") - word.count("b")


def _major(value: int) -> int:
    """Semitones of a degree of the major scale, ninths and more within the octave."""
    return (0, 2, 4, 5, 7, 9, 11)[(value - 1) % 7]


def _pitch_class(element: Any, prefix: str) -> int:
    alter = int(Fraction(element.findtext(f"{prefix}alter") or "0"))
    return (SEMITONES[element.findtext(f"{prefix}step")] + alter) % 12


_READERS = {
    "attributes": _read_attributes,
    "note": _read_note,
    "backup": _read_move,
    "forward": _read_move,
    "harmony": _read_harmony,
}


# ---- asking -------------------------------------------------------------------------


def check_page(
    xml: bytes,
    *,
    melody: Sequence[tuple[Fraction, Fraction, int]] | None = None,
    changed: Iterable[Fraction] = (),
    limits_mm: Mapping[tuple[int, int], float] = LIMITS_MM,
) -> list[str]:
    """Every complaint about a page; an empty list if there is none.

    ``melody`` is what voice 1 must be, as (onset, duration, MIDI note), up to one
    transposition; notes whose onsets are in ``changed`` are not compared.
    Raises ValueError if the file is not a partwise score with one part.
    """
    page = read_page(xml)
    return [
        *page.complaints,
        *_check_places(page),
        *_check_pairs(page, limits_mm),
        *_check_barres(page),
        *_check_touch(page),
        *_check_bars(page),
        *_check_chords(page),
        *(_check_melody(page, melody, frozenset(changed)) if melody is not None else ()),
    ]


def _check_places(page: Page) -> Iterator[str]:
    for sound in page.sounds:
        if sound.place is None or sound.finger is None:
            yield f"bar {sound.bar}: {sound} lacks its string, fret or finger"
            continue
        above = HARMONICS.get(sound.place[1], 0) if sound.is_harmonic else sound.place[1]
        if sound.open_midi is None or sound.open_midi + above != sound.midi:
            yield f"bar {sound.bar}: {sound} is not what string {sound.place[0]} fret {sound.place[1]} gives"
        if (sound.finger == 0) != (sound.place[1] == 0) or sound.finger > 4:
            yield f"bar {sound.bar}: {sound} has finger {sound.finger} at fret {sound.place[1]}"


def _overlapping(sounds: Iterable[Sound]) -> Iterator[tuple[Sound, Sound]]:
    """Any two that sound together, the earlier first."""
    for one, other in combinations(sorted(sounds, key=lambda sound: sound.onset), 2):
        if other.onset < one.offset:
            yield one, other


def _check_pairs(page: Page, limits_mm: Mapping[tuple[int, int], float]) -> Iterator[str]:
    for one, other in _overlapping(page.sounds):
        yield from _check_voices(one, other)
        if one.place and other.place and one.finger is not None and other.finger is not None:
            yield from _check_holds(one, other)
            if one.finger and other.finger and one.finger != other.finger:
                yield from _check_hand(one, other, limits_mm)


def _check_voices(one: Sound, other: Sound) -> Iterator[str]:
    if one.is_melody is not other.is_melody:
        melody, below = (one, other) if one.is_melody else (other, one)
        if below.midi >= melody.midi:
            yield f"bar {other.bar}: {below} is not below the melody, {melody}"


def _check_holds(one: Sound, other: Sound) -> Iterator[str]:
    assert one.place
    assert other.place
    together = one.onset == other.onset
    if one.place[0] == other.place[0]:
        fault = "is on one string with" if together else "takes its string, before its end, from"
        yield f"bar {other.bar}: {other} {fault} {one}"
    elif one.finger == other.finger != 0 and not (_share_barre(one, other) or _share_touch(one, other)):
        fault = "needs one finger with" if together else "takes its finger, before its end, from"
        yield f"bar {other.bar}: {other} {fault} {one}"


def _share_barre(one: Sound, other: Sound) -> bool:
    assert one.place
    assert other.place
    return one.finger == other.finger == 1 and one.place[1] == other.place[1]


def _share_touch(one: Sound, other: Sound) -> bool:
    """Harmonics at one fret are touched by one finger that lies flat."""
    assert one.place
    assert other.place
    return one.is_harmonic and other.is_harmonic and one.place[1] == other.place[1]


def _check_touch(page: Page) -> Iterator[str]:
    """What lies between two strings that one finger touches is damped, unless it is stopped farther up."""
    touched = [sound for sound in page.sounds if sound.is_harmonic and sound.place]
    for one, other in _overlapping(touched):
        if one.finger != other.finger or not _share_touch(one, other):
            continue
        start, end = other.onset, min(one.offset, other.offset)
        assert one.place
        assert other.place
        low, high = sorted((one.place[0], other.place[0]))
        for sound in page.sounds:
            is_meanwhile = sound.onset < end and start < sound.offset and not sound.is_harmonic
            if (
                is_meanwhile
                and sound.place
                and low < sound.place[0] < high
                and sound.place[1] <= one.place[1]
            ):
                yield f"bar {sound.bar}: {sound} is damped by finger {one.finger}, which touches beside it"


def _check_hand(one: Sound, other: Sound, limits_mm: Mapping[tuple[int, int], float]) -> Iterator[str]:
    low, high = sorted((one, other), key=lambda sound: sound.finger or 0)
    assert low.place
    assert high.place
    assert low.finger
    assert high.finger
    (low_string, low_fret), (high_string, high_fret) = low.place, high.place
    if low_fret > high_fret or (low_fret == high_fret and low_string < high_string):
        yield f"bar {other.bar}: fingers {low.finger} and {high.finger} cross, {low} and {high}"
    span = _apart_mm(low, high)
    limit = limits_mm[low.finger, high.finger]
    if span > limit + WIDE_ENOUGH_MM:
        yield f"bar {other.bar}: fingers {low.finger} and {high.finger} lie {span:.1f} mm apart, not {limit:.0f}"


def _apart_mm(one: Sound, other: Sound) -> float:
    """A tip that touches a node lies over the wire."""
    (x1, y1), (x2, y2) = _touch_mm(one), _touch_mm(other)
    return float(((x1 - x2) ** 2 + (y1 - y2) ** 2) ** 0.5)


def _touch_mm(sound: Sound) -> tuple[float, float]:
    assert sound.place
    return _node_mm(*sound.place) if sound.is_harmonic else _tip_mm(*sound.place)


def _node_mm(string: int, fret: int) -> tuple[float, float]:
    x = 650 * (1 - 2 ** (-fret / 12))
    return x, (43 + 15 * x / 650) * (string - 1) / 5 - (43 + 15 * x / 650) / 2


def span_mm(one: tuple[int, int], other: tuple[int, int]) -> float:
    """Between two finger tips at (string, fret), on a 650 mm scale."""
    (x1, y1), (x2, y2) = _tip_mm(*one), _tip_mm(*other)
    return float(((x1 - x2) ** 2 + (y1 - y2) ** 2) ** 0.5)


def _tip_mm(string: int, fret: int) -> tuple[float, float]:
    """A quarter of the fret's width behind its wire; outer strings 43 mm apart at the nut, 58 at the bridge."""
    wire, wire_before = (650 * (1 - 2 ** (-n / 12)) for n in (fret, fret - 1))
    x = wire - (wire - wire_before) / 4
    return x, (43 + 15 * x / 650) * (string - 1) / 5 - (43 + 15 * x / 650) / 2


def _check_barres(page: Page) -> Iterator[str]:
    """Finger 1 on two strings at once is a barre, from the lower of them to string 1."""
    fingers = [s for s in page.sounds if s.finger == 1 and s.place and not s.is_harmonic]
    for one, other in _overlapping(fingers):
        if not _share_barre(one, other):
            continue
        start, end = other.onset, min(one.offset, other.offset)
        for sound in page.sounds:
            if sound.onset < end and start < sound.offset and sound.place:
                yield from _check_under(one, other, sound)


def _check_under(one: Sound, other: Sound, sound: Sound) -> Iterator[str]:
    assert one.place
    assert other.place
    assert sound.place
    string, fret = sound.place
    if sound.finger == 0 and string <= max(one.place[0], other.place[0]):
        yield f"bar {sound.bar}: {sound} sounds open under a barre at fret {one.place[1]}"
    if (sound.finger or 0) > 1 and fret <= one.place[1]:
        yield f"bar {sound.bar}: {sound} is pressed behind a barre at fret {one.place[1]}"


def _check_bars(page: Page) -> Iterator[str]:
    for index, bar in enumerate(page.bars):
        for voice in sorted(bar.fills):
            yield from _check_filling(bar, voice)
        if bar.nominal is None or bar.length == bar.nominal:
            continue
        if bar.length > bar.nominal or not _may_be_short(page.bars, index):
            yield f"bar {bar.number}: holds {bar.length} quarters, its meter {bar.nominal}"


def _check_filling(bar: PageBar, voice: int) -> Iterator[str]:
    spans = sorted(
        bar.fills[voice] + [(start, end) for owner, start, end in bar.forwards if owner in {None, voice}]
    )
    reached = Fraction(0)
    for start, end in spans:
        if start > reached:
            yield f"bar {bar.number}: voice {voice} is empty from quarter {reached} to {start}"
        reached = max(reached, end)
    if reached != bar.length:
        yield f"bar {bar.number}: voice {voice} ends at quarter {reached} of {bar.length}"
    notes = sorted(bar.fills[voice])
    if any(before[1] > after[0] for before, after in pairwise(notes)):
        yield f"bar {bar.number}: voice {voice} overlaps itself"


def _may_be_short(bars: Sequence[PageBar], index: int) -> bool:
    """A pickup, the last bar, a bar at a repeat, or half of a bar that is split in two."""
    bar = bars[index]
    neighbours = [*bars[max(0, index - 1) : index], *bars[index + 1 : index + 2]]
    is_half = any(bar.length + neighbour.length == bar.nominal for neighbour in neighbours)
    is_edge = index in {0, len(bars) - 1}
    at_repeat = bar.is_at_repeat or any(neighbour.is_at_repeat for neighbour in neighbours)
    return bar.is_implicit or is_edge or at_repeat or is_half


def _check_chords(page: Page) -> Iterator[str]:
    chords = sorted(page.chords, key=lambda chord: chord.onset)
    for sound in page.sounds:
        if sound.is_melody:
            continue
        in_force = [chord for chord in chords if chord.onset <= sound.onset][-1:]
        later = [chord for chord in chords if sound.onset < chord.onset < sound.offset]
        if not in_force:
            yield f"bar {sound.bar}: {sound} sounds before any chord symbol"
        if any(sound.midi % 12 not in chord.tones for chord in in_force):
            yield f"bar {sound.bar}: {sound} is no tone of its chord"
        if any(sound.midi % 12 not in chord.tones for chord in later):
            yield f"bar {sound.bar}: {sound} is held into a chord that has no such tone"


def _check_melody(
    page: Page, melody: Sequence[tuple[Fraction, Fraction, int]], changed: frozenset[Fraction]
) -> Iterator[str]:
    wanted = {onset: (duration, midi) for onset, duration, midi in melody if onset not in changed}
    found = [sound for sound in page.sounds if sound.is_melody and sound.onset not in changed]
    heard = {sound.onset for sound in found}
    moved = {sound.midi - wanted[sound.onset][1] for sound in found if sound.onset in wanted}
    if len(moved) > 1:
        yield f"bar 1: the melody is transposed in {len(moved)} ways: {sorted(moved)}"
    yield from (
        f"bar ?: the melody note at quarter {onset} is missing" for onset in wanted if onset not in heard
    )
    if len(heard) != len(found):
        yield "bar ?: two melody notes start at once"
    for sound in found:
        if sound.onset not in wanted:
            yield f"bar {sound.bar}: {sound} is not in the given melody"
        elif sound.offset - sound.onset != wanted[sound.onset][0]:
            yield f"bar {sound.bar}: {sound} lasts {sound.offset - sound.onset}, not {wanted[sound.onset][0]}"


# ---- counting -----------------------------------------------------------------------


def measure_page(page: Page) -> Figures:
    """Bars, notes, notes held while another is struck, and the share of eighths with a stroke.

    Motion is counted in the bars in which any accompaniment sounds.
    """
    held = {id(one) for one, other in _overlapping(page.sounds) if one.onset < other.onset}
    return Figures(len(page.bars), len(page.sounds), len(held), _motion(page))


def _motion(page: Page) -> float | None:
    strokes = {sound.onset for sound in page.sounds}
    eighths = [eighth for bar in page.bars if _is_accompanied(page, bar) for eighth in _eighths(bar)]
    struck = [start for start, end in eighths if any(start <= stroke < end for stroke in strokes)]
    return len(struck) / len(eighths) if eighths else None


def _is_accompanied(page: Page, bar: PageBar) -> bool:
    end = bar.onset + bar.length
    return any(not s.is_melody and s.onset < end and bar.onset < s.offset for s in page.sounds)


def _eighths(bar: PageBar) -> Iterator[tuple[Fraction, Fraction]]:
    start = bar.onset
    while start < bar.onset + bar.length:
        yield start, start + EIGHTH
        start += EIGHTH


def main(arguments: Sequence[str] | None = None) -> int:
    """Print a table for files, then their complaints. Exit code 1 if there is any."""
    parser = argparse.ArgumentParser(description="Ask the physical questions of MusicXML pages again.")
    parser.add_argument("files", nargs="+", type=Path)
    paths: list[Path] = parser.parse_args(arguments).files
    complaints = {path: check_page(path.read_bytes()) for path in paths}
    rows = [_row(path, len(complaints[path])) for path in paths]
    head = f"{'file':40} {'bars':>5} {'notes':>6} {'held':>5} {'motion':>7} {'complaints':>11}"
    said = [f"{path.name}: {complaint}" for path in paths for complaint in complaints[path]]
    sys.stdout.write("\n".join([head, *rows, *said]) + "\n")
    return 1 if said else 0


def _row(path: Path, complaints: int) -> str:
    figures = measure_page(read_page(path.read_bytes()))
    motion = "-" if figures.motion is None else f"{figures.motion:.0%}"
    return f"{path.name:40} {figures.bars:5} {figures.notes:6} {figures.held:5} {motion:>7} {complaints:11}"


if __name__ == "__main__":
    sys.exit(main())
