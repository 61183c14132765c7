"""Where moments of the music stand along a line.

What is drawn under a staff (tablature, hold chart) stands under the heads that are laid
out there: notes struck together have one column, and every moment has its place.

Conventions: hundredths of a millimetre along the line, as in ``layout``; moments are
quarters from the start of the piece.
"""

from bisect import bisect_right
from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from apoyando.engraving.drawing.boxes import Box
from apoyando.engraving.notation.score import NotatedScore, Sounding
from apoyando.engraving.staff.layout import System
from apoyando.model.arrangement import Note
from apoyando.model.song import Bar
from apoyando.model.time import Quarters


@dataclass(frozen=True, slots=True)
class WrittenHead:
    """One note head: its id, the note it stands for, and the event whose length it has."""

    note_id: str
    note: Note
    event: Sounding


def written_heads(score: NotatedScore) -> Mapping[str, WrittenHead]:
    """Every head of a score by its id, bar by bar and voice by voice."""
    return {
        note_id: WrittenHead(note_id, note, event)
        for bar in score.bars
        for events in bar.voices.values()
        for event in events
        if isinstance(event, Sounding)
        for note_id, note in zip(event.note_ids, event.notes, strict=True)
    }


def find_columns(heads: Iterable[WrittenHead], boxes: Mapping[str, Box]) -> Mapping[Quarters, float]:
    """For each moment at which something is written the middle of its heads.

    Where heads stand aside of each other the place of most of them counts, of those the leftmost.
    """
    middles: dict[Quarters, list[float]] = defaultdict(list)
    for head in heads:
        middles[head.event.onset].append(round(boxes[head.note_id].middle[0], 1))
    return {onset: _commonest(places) for onset, places in middles.items()}


def _commonest(places: Sequence[float]) -> float:
    counts = Counter(places)
    return min(counts, key=lambda place: (-counts[place], place))


@dataclass(frozen=True, slots=True)
class TimeLine:
    """A place for every moment of one line: columns and barlines, even in between."""

    moments: tuple[Quarters, ...]
    places: tuple[float, ...]

    def place(self, moment: Quarters) -> float:
        """Where a moment stands; the ends of the line for what lies outside it."""
        index = bisect_right(self.moments, moment)
        if index == 0:
            return self.places[0]
        if index == len(self.moments):
            return self.places[-1]
        start, end = self.moments[index - 1], self.moments[index]
        left, right = self.places[index - 1], self.places[index]
        return left + (right - left) * float((moment - start) / (end - start))


def make_time_line(system: System, bars: Sequence[Bar], columns: Mapping[Quarters, float]) -> TimeLine:
    """The time line of a system; ``bars`` are those of the piece. A downbeat stands at its barline
    where nothing is written on it.
    """
    here = [bars[index] for index in sorted(system.bars)]
    points = {bar.onset: system.bars[bar.index].left for bar in here}
    points[here[0].onset] = system.music_left
    points[here[-1].offset] = system.right
    points |= columns
    moments = tuple(sorted(points))
    return TimeLine(moments, tuple(points[moment] for moment in moments))
