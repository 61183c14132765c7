"""The hold chart: what stays down, and when it goes, drawn under a system.

Six rows for the strings, the highest string on top, under the heads of the staff. Each note
is a bar in the row of its string, from its head to where it is written to end: so long its
finger stays. What is told apart, and by what (our own; black on white alone):

* the melody is black, the bass hatched, the inner voice white;
* the bar of an open string is half as high: nothing has to be held;
* a thin line goes on from the bar for as long as the note may ring on;
* a thick upright stroke ends a note that the hand has to let go, because its finger or its
  string is needed elsewhere; without it the music itself ends the note.

A bar over a system break is open there. A legend stands under the first system.

Conventions: hundredths of a millimetre; ``top`` is the height of the row of string 1.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from apoyando.engraving.drawing.boxes import Box
from apoyando.engraving.drawing.shapes import Beam, Blank, Piece, Shape, Stroke, Text
from apoyando.engraving.drawing.typeface import DIGIT_HEIGHT_EM
from apoyando.engraving.notation.kept import Kept
from apoyando.engraving.notation.score import NotatedScore
from apoyando.engraving.staff.columns import TimeLine, WrittenHead, find_columns, make_time_line
from apoyando.engraving.staff.digits import BLANK
from apoyando.engraving.staff.layout import GRID, SPACE, System
from apoyando.model.arrangement import Role
from apoyando.model.instrument import STRINGS, Place, StringNumber
from apoyando.model.time import Quarters

KEPT = "kept"
RING = "ring"
CUT = "cut"
LABEL = "chartLabel"
ROW = 1.3 * SPACE
HEIGHT = 5 * ROW
CHART_GAP = 2.0 * SPACE
"""Between what is lowest above and the bars of the first string."""
STOPPED, OPEN_STRING = 0.82 * SPACE, 0.36 * SPACE
"""How high bars are."""
OUTLINE = 0.09 * SPACE
HATCH_STEP = 0.4 * SPACE
RING_LINE = 0.12 * SPACE
CUT_LINE = 0.24 * SPACE
CUT_HEIGHT = 1.16 * SPACE
GRID_LINE = 0.04 * SPACE
HALF_HEAD = 0.6 * SPACE
END_GAP = 1.05 * SPACE
"""Before the middle of the head at which a note ends."""
SHORTEST = 0.35 * SPACE
AIR = 0.06 * SPACE
LABEL_EM = 1.4 * SPACE
LABEL_WIDTH = 1.1 * SPACE
LEGEND_EM = 1.5 * SPACE
LEGEND_GAP = 1.7 * SPACE
SAMPLE = 2.6 * SPACE


@dataclass(frozen=True, slots=True)
class _Bar:
    """A note on one line: its bar from ``left`` to ``right``, its ring on to ``ring_right``."""

    owner: str
    role: Role
    is_open_string: bool
    left: float
    right: float
    ring_right: float
    y: float
    comes_from_before: bool = False
    goes_on: bool = False
    is_cut: bool = False

    @property
    def box(self) -> Box:
        half = (OPEN_STRING if self.is_open_string else STOPPED) / 2
        return Box(self.left, self.y - half, self.right, self.y + half)


def add_hold_chart(
    system: System, heads: Sequence[WrittenHead], score: NotatedScore, above: Sequence[Shape]
) -> tuple[Shape, ...]:
    """The chart of what is ``kept`` under a system of a score that is finished with all of ``above``."""
    bottom = max(box.bottom for shape in above for box in shape.boxes())
    top = bottom + CHART_GAP
    time_line = make_time_line(system, score.arrangement.bars, find_columns(heads, system.heads))
    drawn = _bars_of(_Chart(system, time_line, _owners(heads), top), score.kept)
    legend = _legend(top + HEIGHT + ROW / 2 + LEGEND_GAP) if 0 in system.bars else ()
    return (*_grid(system, top), *(shape for bar in drawn for shape in _draw(bar)), *legend)


# The notes of a line.


@dataclass(frozen=True, slots=True)
class _Chart:
    """Where things stand. ``owners`` are the heads by onset and place."""

    system: System
    time_line: TimeLine
    owners: Mapping[tuple[Quarters, Place], WrittenHead]
    top: float

    @property
    def onset(self) -> Quarters:
        return self.time_line.moments[0]

    @property
    def offset(self) -> Quarters:
        return self.time_line.moments[-1]

    def row(self, string: StringNumber) -> float:
        return self.top + (string - 1) * ROW

    def begin(self, moment: Quarters) -> float:
        """Where what is struck at a moment begins: with the heads of its column."""
        if moment < self.onset:
            return self.system.music_left
        return self.time_line.place(moment) - HALF_HEAD

    def end(self, moment: Quarters) -> float:
        """Where what lasts until a moment ends: before the head that stands there."""
        if moment > self.offset:
            return self.system.right
        return self.time_line.place(moment) - (END_GAP if moment < self.offset else END_GAP / 3)


def _owners(heads: Sequence[WrittenHead]) -> Mapping[tuple[Quarters, Place], WrittenHead]:
    """For each note that is written on the line its first head there."""
    ordered = sorted(heads, key=lambda head: -head.event.onset)
    return {(head.note.onset, head.note.place): head for head in ordered}


def _bars_of(chart: _Chart, kept: Sequence[Kept]) -> Iterator[_Bar]:
    for each in kept:
        if each.note.onset < chart.offset and chart.onset < each.until:
            yield _bar(each, chart)


def _bar(kept: Kept, chart: _Chart) -> _Bar:
    note = kept.note
    head = chart.owners.get((note.onset, note.place))
    left = chart.begin(note.onset)
    right = max(chart.end(note.offset), left + SHORTEST) if note.offset > chart.onset else left
    return _Bar(
        owner=head.note_id if head else "",
        role=note.role,
        is_open_string=note.place.is_open or note.is_harmonic,
        left=left,
        right=right,
        ring_right=max(right, chart.end(kept.until)),
        y=chart.row(note.place.string),
        comes_from_before=note.onset < chart.onset,
        goes_on=note.offset > chart.offset,
        is_cut=kept.is_cut and kept.until <= chart.offset,
    )


# Drawing.


def _grid(system: System, top: float) -> Iterator[Shape]:
    """Rows with the numbers of their strings, and the barlines."""
    left = LABEL_WIDTH
    for string in STRINGS:
        y = top + (string - 1) * ROW
        yield Shape(GRID, "", Stroke(((left, y), (system.right, y)), GRID_LINE))
        label = Text((Piece(str(string), LABEL_EM),), 0, y + LABEL_EM * DIGIT_HEIGHT_EM / 2)
        yield Shape(LABEL, "", label)
    ends = (top - ROW / 2, top + HEIGHT + ROW / 2)
    for x in sorted({left, *(extent.right for extent in system.bars.values())}):
        yield Shape(GRID, "", Stroke(((x, ends[0]), (x, ends[1])), 2 * GRID_LINE))


def _draw(bar: _Bar) -> Iterator[Shape]:
    if bar.right > bar.left:
        yield Shape(BLANK, bar.owner, Blank(bar.box.grown(AIR)))
        yield from _fill(bar)
    if bar.ring_right > bar.right:
        half = RING_LINE / 2
        yield Shape(
            BLANK, bar.owner, Blank(Box(bar.right, bar.y - half, bar.ring_right, bar.y + half).grown(AIR))
        )
        yield Shape(RING, bar.owner, Stroke(((bar.right, bar.y), (bar.ring_right, bar.y)), RING_LINE))
    if bar.is_cut:
        x, half = bar.ring_right, CUT_HEIGHT / 2
        cut = Stroke(((x, bar.y - half), (x, bar.y + half)), CUT_LINE)
        yield Shape(BLANK, bar.owner, Blank(cut.boxes()[0].grown(AIR)))
        yield Shape(CUT, bar.owner, cut)


def _fill(bar: _Bar) -> Iterator[Shape]:
    box = bar.box
    corners = ((box.left, box.top), (box.right, box.top), (box.right, box.bottom), (box.left, box.bottom))
    if bar.role is Role.MELODY:
        yield Shape(KEPT, bar.owner, Beam(corners))
        return
    yield from _outline(bar)
    if bar.role is Role.BASS:
        yield Shape(KEPT, bar.owner, _hatch(box))


def _outline(bar: _Bar) -> Iterator[Shape]:
    """Round the bar, open where it comes from the line before or goes on to the next."""
    box = bar.box.grown(-OUTLINE / 2)
    for y in (box.top, box.bottom):
        yield Shape(KEPT, bar.owner, Stroke(((bar.left, y), (bar.right, y)), OUTLINE))
    for x, is_closed in ((box.left, not bar.comes_from_before), (box.right, not bar.goes_on)):
        if is_closed:
            yield Shape(KEPT, bar.owner, Stroke(((x, bar.box.top), (x, bar.box.bottom)), OUTLINE))


def _hatch(box: Box) -> Stroke:
    """One line up and down all through the bar."""
    count = max(2, round(box.width / HATCH_STEP))
    heights = (box.bottom - OUTLINE, box.top + OUTLINE)
    points = ((box.left + box.width * n / count, heights[n % 2]) for n in range(count + 1))
    return Stroke(tuple(points), OUTLINE)


def _legend(y: float) -> Iterator[Shape]:
    """A sample of each, with its word."""
    x = LABEL_WIDTH
    for number, (words, sample) in enumerate(_SAMPLES, 1):
        bar = _Bar(f"legend{number}", *sample[:2], x, x + sample[2] * SAMPLE, x + SAMPLE, y, is_cut=sample[3])
        yield from _draw(bar)
        x += SAMPLE + 0.6 * SPACE
        text = Text((Piece(words, LEGEND_EM),), x, y + 0.33 * LEGEND_EM)
        yield Shape(LABEL, "", text)
        x += text.width + 1.6 * SPACE


_SAMPLES: Sequence[tuple[str, tuple[Role, bool, float, bool]]] = (
    ("melody", (Role.MELODY, False, 1.0, False)),
    ("bass", (Role.BASS, False, 1.0, False)),
    ("inner voice", (Role.INNER, False, 1.0, False)),
    ("open string", (Role.INNER, True, 1.0, False)),
    ("may ring on", (Role.INNER, False, 0.4, False)),
    ("the hand lets go", (Role.INNER, False, 1.0, True)),
)
