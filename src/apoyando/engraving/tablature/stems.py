"""The stems of tablature: its rhythm, outside the six lines.

Conventions (printed lute and guitar tablature knows several; these are kept throughout):

* the melody's stems stand above the strings, the accompaniment's below them;
* a whole note has no stem, a half note a short one, a quarter a long one; eighths and
  shorter notes have flags, or beams where the notation has them. Dots stand to the right of
  where stems begin, to the left of a stem that stands aside;
* notes of the accompaniment that are struck together and last equally long share a stem;
  if they do not, the stem of the longer stands aside to the left;
* a beam that would run into another stem lies one row farther out; of two beams at once on one
  side the longer is dissolved into flags, for its stems would cross the shorter one;
* the number of a tuplet stands beyond the stems, with a bracket if there is no beam.

Source: common practice, from memory; flags and figures by SMuFL 1.4.

Conventions: hundredths of a millimetre; the line of string 1 has the height 0.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import groupby
from math import log2

from apoyando.engraving.drawing.shapes import Beam, Dot, Glyph, Shape, Stroke
from apoyando.engraving.notation.score import MELODY_VOICE, NotatedBar, NoteValue, Sounding
from apoyando.engraving.staff.layout import SPACE
from apoyando.engraving.tablature.strings import HEIGHT
from apoyando.model.time import Quarters

STEM_GAP = 0.9 * SPACE
"""From the outer string to where stems begin: past half a number."""
STEM = 2.7 * SPACE
HALF_NOTE_STEM = 1.25 * SPACE
STEM_WIDTH = 0.12 * SPACE
ROW = 1.6 * SPACE
ASIDE = 0.5 * SPACE
BEAM = 0.42 * SPACE
BEAM_STEP = 0.65 * SPACE
BEAMS_WITH_ROOM = 3
"""More beams or flags make the stem longer."""
STUB = 1.1 * SPACE
FLAG_SIZE = 3 * SPACE
FLAG_WIDTH = 0.9 * SPACE
FIRST_FLAG = 0xE240
"""Flags up and down in turn, from the eighth on."""
MOST_FLAGS = 8
DOT_RADIUS = 0.18 * SPACE
DOT_GAP = 0.5 * SPACE
DOT_HEIGHT = 0.3 * SPACE
FIGURE_SIZE = 3.2 * SPACE
FIRST_FIGURE = 0xE880
FIGURE_GAP = 0.4 * SPACE
BRACKET_HOOK = 0.6 * SPACE
BRACKET_LINE = 0.11 * SPACE
HALF, WHOLE = Fraction(2), Fraction(4)


@dataclass(frozen=True, slots=True)
class _Stem:
    """What one event needs: whose it is, where it stands, what it says."""

    owner: str
    onset: Quarters
    x: float
    value: NoteValue
    is_aside: bool = False

    @property
    def beams(self) -> int:
        """How many beams or flags: 1 for an eighth, 2 for a sixteenth."""
        return min(MOST_FLAGS, max(0, -int(log2(self.value.base))))

    @property
    def length(self) -> float:
        if self.value.base >= WHOLE:
            return 0.0
        if self.value.base == HALF:
            return HALF_NOTE_STEM
        return STEM + max(0, self.beams - BEAMS_WITH_ROOM) * BEAM_STEP


@dataclass(frozen=True, slots=True)
class _Group:
    """Stems under one beam, or a single one, above the strings or below. ``row`` counts outwards from 0."""

    stems: tuple[_Stem, ...]
    is_up: bool
    row: int = 0

    @property
    def is_beamed(self) -> bool:
        return len(self.stems) > 1

    @property
    def says(self) -> tuple[tuple[Quarters, NoteValue], ...]:
        """What is read from it: two groups of one side that say the same are one."""
        return tuple((stem.onset, stem.value) for stem in self.stems)

    @property
    def end(self) -> float:
        """How far from the outer string its stems go."""
        return STEM_GAP + max(stem.length for stem in self.stems) + self.row * ROW

    def covers(self, onset: Quarters) -> bool:
        return self.stems[0].onset <= onset <= self.stems[-1].onset

    def meets(self, other: "_Group") -> bool:
        first, second = sorted((self, other), key=lambda group: group.stems[0].onset)
        return self.is_up == other.is_up and first.covers(second.stems[0].onset)

    def y(self, distance: float) -> float:
        """The height at a distance outwards from the outer string."""
        return -distance if self.is_up else HEIGHT + distance


def draw_stems(bars: Iterable[NotatedBar], columns: Mapping[Quarters, float]) -> tuple[Shape, ...]:
    """The stems, flags, beams, dots and tuplets of bars whose columns are given."""
    shapes: list[Shape] = []
    for bar in bars:
        groups = _apart([*_groups(bar, columns)])
        shapes += [shape for group in groups for shape in _draw(group)]
        shapes += [shape for tuplet in _tuplets(bar, columns) for shape in _draw_tuplet(tuplet, groups)]
    return tuple(shapes)


# What there is to draw.


def _groups(bar: NotatedBar, columns: Mapping[Quarters, float]) -> Iterator[_Group]:
    """One for each beam and each single note, but not the same twice."""
    beams = {event_id: beam for beam in bar.beams for event_id in beam}
    told: set[tuple[bool, tuple[tuple[Quarters, NoteValue], ...]]] = set()
    for voice, events in sorted(bar.voices.items()):
        sounding = [event for event in events if isinstance(event, Sounding)]
        for _, members in groupby(sounding, key=lambda event: beams.get(event.id, (event.id,))):
            stems = tuple(_Stem(e.note_ids[0], e.onset, columns[e.onset], e.value) for e in members)
            group = _Group(stems, is_up=voice == MELODY_VOICE)
            if (group.is_up, group.says) not in told:
                yield group
            told.add((group.is_up, group.says))


def _apart(groups: Sequence[_Group]) -> list[_Group]:
    """Beams that keep clear of other stems; the longer of two stems in one place aside.

    Of two beams at once the longer gives way: its notes have flags, for its stems would cross the other.
    """
    singles = [group for group in groups if not group.is_beamed]
    beams: list[_Group] = []
    for beam in sorted((g for g in groups if g.is_beamed), key=lambda g: g.stems[-1].x - g.stems[0].x):
        if any(other.meets(beam) for other in beams):
            singles += [_Group((stem,), is_up=beam.is_up) for stem in beam.stems]
        else:
            beams.append(beam)
    rows = [replace(beam, row=int(any(single.meets(beam) for single in singles))) for beam in beams]
    placed = [*singles, *rows]
    return [group if group.is_beamed else _aside(group, placed) for group in placed]


def _aside(single: _Group, groups: Sequence[_Group]) -> _Group:
    stem = single.stems[0]
    others = [other for group in groups if group.is_up == single.is_up for other in group.stems]
    shorter = {o.value for o in others if o.onset == stem.onset and o.value.quarters < stem.value.quarters}
    aside = ASIDE * len(shorter) + (FLAG_WIDTH if stem.beams and shorter else 0.0)
    moved = replace(stem, x=stem.x - aside, is_aside=bool(shorter))
    return replace(single, stems=(moved,))


# Drawing.


def _draw(group: _Group) -> Iterator[Shape]:
    for stem in group.stems:
        if stem.length:
            end = group.end if group.is_beamed else STEM_GAP + stem.length
            points = ((stem.x, group.y(STEM_GAP)), (stem.x, group.y(end)))
            yield Shape("stem", stem.owner, Stroke(points, STEM_WIDTH))
        yield from _dots(stem, group)
    yield from _beams(group) if group.is_beamed else _flag(group)


def _dots(stem: _Stem, group: _Group) -> Iterator[Shape]:
    has_flag = bool(stem.beams) and not group.is_beamed
    past = (FLAG_WIDTH if has_flag else 0.0) + DOT_GAP
    for number in range(stem.value.dots):
        aside = past + number * DOT_GAP
        x = stem.x - aside if stem.is_aside else stem.x + aside
        yield Shape("dots", stem.owner, Dot(x, group.y(STEM_GAP + DOT_HEIGHT), DOT_RADIUS, DOT_RADIUS))


def _flag(group: _Group) -> Iterator[Shape]:
    stem = group.stems[0]
    if stem.beams:
        code = FIRST_FLAG + 2 * (stem.beams - 1) + (not group.is_up)
        x = stem.x - STEM_WIDTH / 2
        yield Shape("flag", stem.owner, Glyph(f"{code:04X}", x, group.y(group.end), FLAG_SIZE))


def _beams(group: _Group) -> Iterator[Shape]:
    """From the ends of the stems inwards; a beam that has one stem only is a stub."""
    for level in range(max(stem.beams for stem in group.stems)):
        far = group.end - level * BEAM_STEP
        for left, right in _runs(group.stems, level):
            top = min(group.y(far), group.y(far - BEAM))
            corners = ((left, top), (right, top), (right, top + BEAM), (left, top + BEAM))
            yield Shape("beam", group.stems[0].owner, Beam(corners))


def _runs(stems: Sequence[_Stem], level: int) -> Iterator[tuple[float, float]]:
    """From where to where the beam of a level goes; stubs point to the stem before, the first to the next."""
    half = STEM_WIDTH / 2
    index = 0
    for is_beamed, run in groupby(stems, key=lambda stem: stem.beams > level):
        members = list(run)
        left, right = members[0].x - half, members[-1].x + half
        if is_beamed and len(members) > 1:
            yield left, right
        elif is_beamed:
            yield (left, left + STUB) if index == 0 else (right - STUB, right)
        index += len(members)


# Tuplets.


@dataclass(frozen=True, slots=True)
class _Tuplet:
    """The notes under one number, from the first stem to the last."""

    figure: int
    stems: tuple[_Stem, ...]
    is_up: bool


def _tuplets(bar: NotatedBar, columns: Mapping[Quarters, float]) -> Iterator[_Tuplet]:
    told: set[tuple[bool, Quarters]] = set()
    for voice, events in sorted(bar.voices.items()):
        inside: list[_Stem] = []
        for event in events:
            if event.tuplet and event.tuplet.starts:
                inside = []
            if event.tuplet and isinstance(event, Sounding):
                inside.append(_Stem(event.note_ids[0], event.onset, columns[event.onset], event.value))
            if event.tuplet and event.tuplet.stops and inside:
                is_up = voice == MELODY_VOICE
                if (is_up, inside[0].onset) not in told:
                    yield _Tuplet(event.tuplet.actual, tuple(inside), is_up)
                told.add((is_up, inside[0].onset))


def _draw_tuplet(tuplet: _Tuplet, groups: Sequence[_Group]) -> Iterator[Shape]:
    own = {stem.owner for stem in tuplet.stems}
    side = [group for group in groups if group.is_up == tuplet.is_up]
    under = [group for group in side if any(map(group.covers, (stem.onset for stem in tuplet.stems)))]
    has_beam = any({stem.owner for stem in group.stems} == own for group in under)
    end = max(group.end for group in under) + FIGURE_GAP
    left, right = tuplet.stems[0].x - 0.4 * SPACE, tuplet.stems[-1].x + 0.4 * SPACE
    figures = [*_figures(tuplet.figure, (left + right) / 2, under[0].y(end), is_up=tuplet.is_up)]
    yield from figures
    if not has_beam:
        yield from _bracket(left, right, figures, tuplet.is_up)


def _figures(figure: int, middle: float, y: float, *, is_up: bool) -> Iterator[Shape]:
    """The number, its near edge at ``y``."""
    codes = [f"{FIRST_FIGURE + int(digit):04X}" for digit in str(figure)]
    boxes = [Glyph(code, 0, 0, FIGURE_SIZE).boxes()[0] for code in codes]
    x = middle - sum(box.width for box in boxes) / 2
    for code, box in zip(codes, boxes, strict=True):
        baseline = y - box.bottom if is_up else y - box.top
        yield Shape("tupletNum", "", Glyph(code, x - box.left, baseline, FIGURE_SIZE))
        x += box.width


def _bracket(left: float, right: float, figures: Sequence[Shape], is_up: bool) -> Iterator[Shape]:
    """To both sides of the number, with hooks towards the strings."""
    boxes = [figure.boxes()[0] for figure in figures]
    y = boxes[0].middle[1]
    hook = y + (BRACKET_HOOK if is_up else -BRACKET_HOOK)
    gap = 0.3 * SPACE
    for end, near in ((left, boxes[0].left - gap), (right, boxes[-1].right + gap)):
        if (near - end) * (1 if end == left else -1) > 0:
            yield Shape("tupletBracket", "", Stroke(((end, hook), (end, y), (near, y)), BRACKET_LINE))
