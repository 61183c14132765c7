"""A bar as a picture: how long each string is held, and what is heard of it.

Above, a line for each string from 1 down to 6 with a beam for each note, as long as its finger
stays; below, the waveforms of the melody and of the accompaniment before the room, so that the
cut of a note is seen under the end of its beam.

Conventions: an SVG document, 1 unit a pixel; x grows with the seconds; text asks for the family ``STIX``.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from xml.etree.ElementTree import Element, SubElement, tostring

import numpy as np

from apoyando.model.arrangement import Arrangement, Note, Role
from apoyando.model.instrument import STRINGS
from apoyando.sound.cues import BarCue, Cue, CueSheet, plan_cues
from apoyando.sound.mix import BOTH, Balance, Voice, balance_cues, find_balance
from apoyando.sound.performance import perform
from apoyando.sound.samples import Floats
from apoyando.sound.stems import render_stem, to_frames
from apoyando.sound.takes import Take

WIDTH = 1000.0
LEFT, RIGHT = 112.0, 16.0
TOP = 58.0
ROW = 26.0
BEAM = 16.0
WAVE = 120.0
GAP = 22.0
NARROWEST_NAMED = 58.0
"""A beam with less room has no name in it."""
BEFORE_S, AFTER_S = 0.08, 0.35
"""A little of what comes before the bar and after it: that is where the cuts are."""
INK, GREY, LIGHT = "#1a1a1a", "#8a8a8a", "#dcdcdc"
COLOURS = {Role.MELODY: INK, Role.BASS: GREY, Role.INNER: "#b9b9b9"}
_VOICE_COLOURS = {Voice.MELODY: INK, Voice.ACCOMPANIMENT: GREY}


@dataclass(frozen=True, slots=True)
class _Frame:
    """Which seconds are shown."""

    start_s: float
    stop_s: float

    def x(self, second: float) -> float:
        """Held within the frame."""
        share = (min(max(second, self.start_s), self.stop_s) - self.start_s) / (self.stop_s - self.start_s)
        return LEFT + share * (WIDTH - LEFT - RIGHT)


def draw_bar_sound(arrangement: Arrangement, index: int) -> str:
    """The first time that a bar is played, as SVG. ``index`` is its place among the bars."""
    sheet = plan_cues(arrangement, Take(perform(arrangement)), is_phrased=False)
    frame, played = _frame_of(sheet, index)
    height = TOP + len(STRINGS) * ROW + len(BOTH) * (WAVE + GAP) + GAP
    root = Element("svg", xmlns="http://www.w3.org/2000/svg", width=f"{WIDTH:g}", height=f"{height:g}")
    _text(root, LEFT, 26, f"{arrangement.title}, bar {played.number}", size=20)
    _draw_beats(root, sheet, frame, height)
    _draw_strings(root, arrangement, sheet, frame)
    _draw_waves(root, sheet, frame)
    return tostring(root, encoding="unicode")


def _frame_of(sheet: CueSheet, index: int) -> tuple[_Frame, BarCue]:
    place = next(place for place, bar in enumerate(sheet.bars) if bar.index == index)
    ends = [*(bar.onset_s for bar in sheet.bars[1:]), sheet.duration_s]
    played = sheet.bars[place]
    return _Frame(played.onset_s - BEFORE_S, ends[place] + AFTER_S), played


def _draw_beats(root: Element, sheet: CueSheet, frame: _Frame, height: float) -> None:
    """A line at each beat, a heavier one at each barline."""
    for beat in sheet.beats:
        if frame.start_s < beat.onset_s < frame.stop_s:
            x = frame.x(beat.onset_s)
            _line(root, x, TOP - 8, x, height - GAP / 2, GREY if beat.is_first else LIGHT)


def _draw_strings(root: Element, arrangement: Arrangement, sheet: CueSheet, frame: _Frame) -> None:
    for row, string in enumerate(STRINGS):
        y = TOP + (row + 0.5) * ROW
        _text(root, 12, y + 5, f"string {string}")
        _line(root, LEFT, y, WIDTH - RIGHT, y, LIGHT)
    for cue in sheet.of(*Role):
        if cue.onset_s < frame.stop_s and cue.stop_s > frame.start_s:
            _draw_beam(root, arrangement.notes[cue.note], cue, frame)


def _draw_beam(root: Element, note: Note, cue: Cue, frame: _Frame) -> None:
    """The note's name stands in its beam: dark on light, light on dark."""
    y = TOP + (cue.sample.string - 0.5) * ROW - BEAM / 2
    left, right = frame.x(cue.onset_s), frame.x(cue.stop_s)
    box = {"x": f"{left:.1f}", "y": f"{y:.1f}", "width": f"{right - left:.1f}", "height": f"{BEAM:g}"}
    SubElement(root, "rect", {**box, "fill": COLOURS[note.role], "rx": "3"})
    if right - left >= NARROWEST_NAMED:
        fret = "open" if note.place.is_open else f"fret {note.place.fret}"
        fret = f"harmonic, {fret}" if note.is_harmonic else fret
        colour = "#ffffff" if note.role is Role.MELODY else INK
        _text(root, left + 5, y + BEAM - 4, f"{note.pitch}  {fret}", colour, 12)


def _draw_waves(root: Element, sheet: CueSheet, frame: _Frame) -> None:
    """Both to one scale, so that the balance is seen too."""
    balance = find_balance(sheet)
    outlines = {voice: _outline(sheet, balance, voice, frame) for voice in BOTH}
    largest = max(float(np.abs(outline).max()) for outline in outlines.values()) or 1.0
    for place, (voice, outline) in enumerate(outlines.items()):
        middle = TOP + len(STRINGS) * ROW + GAP + place * (WAVE + GAP) + WAVE / 2
        _text(root, 12, middle + 5, str(voice))
        points = " ".join(_around(outline * (WAVE / 2 / largest), middle))
        SubElement(root, "polygon", points=points, fill=_VOICE_COLOURS[voice], stroke=_VOICE_COLOURS[voice])


def _outline(sheet: CueSheet, balance: Balance, voice: Voice, frame: _Frame) -> Floats:
    """The highest and the lowest sample of each pixel, in two rows."""
    cues = [cue for cue in balance_cues(sheet, balance, voice) if cue.onset_s < frame.stop_s]
    sound = np.concatenate([block[0] for block in render_stem(cues, frame.stop_s)])
    first, last = to_frames(frame.start_s), to_frames(frame.stop_s)
    shown = np.pad(sound, (max(-first, 0), 0))[max(first, 0) : last + max(-first, 0)]
    pixels = np.array_split(shown, round(WIDTH - LEFT - RIGHT))
    return np.array([[pixel.max() for pixel in pixels], [pixel.min() for pixel in pixels]], dtype=np.float64)


def _around(outline: Floats, middle: float) -> Iterator[str]:
    """Along the top and back along the bottom."""
    top, bottom = outline
    for pixel, height in enumerate(top):
        yield f"{LEFT + pixel:.0f},{middle - height:.1f}"
    for pixel in reversed(range(len(bottom))):
        yield f"{LEFT + pixel:.0f},{middle - bottom[pixel]:.1f}"


def _line(root: Element, x1: float, y1: float, x2: float, y2: float, colour: str) -> None:
    ends = {"x1": f"{x1:.1f}", "y1": f"{y1:.1f}", "x2": f"{x2:.1f}", "y2": f"{y2:.1f}"}
    SubElement(root, "line", {**ends, "stroke": colour})


def _text(root: Element, x: float, y: float, words: str, colour: str = INK, size: int = 14) -> None:
    place = {"x": f"{x:.1f}", "y": f"{y:.1f}", "font-size": str(size), "font-family": "STIX"}
    SubElement(root, "text", {**place, "fill": colour}).text = words
