"""What must be read with care: accidentals, ledger lines, strings other than the easiest.

Conventions: an accidental counts where it is printed: once in its bar for a line or space,
and again where it is taken back. Guitar notation stands an octave above its sound.
"""

from collections.abc import Iterator
from functools import partial

from apoyando.model.arrangement import Arrangement, Note
from apoyando.model.instrument import LAST_FRET
from apoyando.model.pitch import Key, Pitch, PitchName, Step
from apoyando.model.song import Bar, bar_at
from apoyando.teaching.passage import Passage, Trouble
from apoyando.teaching.points import SMALL_LOOK

_OCTAVE = 7
_LOWEST_LINE, _HIGHEST_LINE = 30, 38
"""Written E4 and F5, the outer lines of the treble staff, as ``Pitch.staff_height``."""

_Place = tuple[Step, int]
"""A line or space."""


def find_looks(passage: Passage) -> Iterator[Trouble]:
    """For each note: 1 for a printed accidental, 1 for each string below its easiest one, and
    ``SMALL_LOOK`` for each ledger line and for a note that the key signature alters.
    """
    bars = passage.arrangement.bars
    bar, in_force = bars[0], dict[_Place, int]()
    for stroke in passage.strokes:
        now = bar_at(bars, stroke.onset)
        if now is not bar:
            bar, in_force = now, {}
        for note in stroke.struck:
            for amount, words in (
                *_look_at_sign(note, bar, in_force),
                *_look_for_string(passage.arrangement, note),
                *_look_at_ledgers(note),
            ):
                yield Trouble(stroke.onset, amount, partial(_look_words, passage, note, words))


def _look_words(passage: Passage, note: Note, words: str) -> str:
    return f"on {passage.beat(note.onset)} {note.pitch.name} {words}"


def _look_at_sign(note: Note, bar: Bar, in_force: dict[_Place, int]) -> Iterator[tuple[float, str]]:
    name, place = note.pitch.name, (note.pitch.name.step, note.pitch.octave)
    signed = _altered_by(bar.key, name.step)
    if name.alter != in_force.get(place, signed):
        back = "is back in" if name.alter == signed else "is not in"
        yield 1.0, f"{back} the key signature"
    elif name.alter and name.alter == signed:
        yield SMALL_LOOK, "is altered by the key signature"
    in_force[place] = name.alter


def _altered_by(key: Key, step: Step) -> int:
    """What the key signature does to a letter: on the line of fifths its seven names lie side by side."""
    return (key.fifths + 5 - PitchName(step).fifths) // 7


def _look_for_string(arrangement: Arrangement, note: Note) -> Iterator[tuple[float, str]]:
    places = arrangement.tuning.places(note.pitch.midi, LAST_FRET)
    easiest = min(places, key=lambda place: place.fret, default=note.place)
    strings = note.place.string - easiest.string
    if strings > 0:
        yield float(strings), f"is played on string {note.place.string} at fret {note.place.fret}"


def _look_at_ledgers(note: Note) -> Iterator[tuple[float, str]]:
    lines = count_ledger_lines(note.pitch)
    if lines:
        yield SMALL_LOOK * lines, f"lies on {lines} ledger line{'s' if lines > 1 else ''}"


def count_ledger_lines(pitch: Pitch) -> int:
    """How many a sounding pitch has on a guitarist's staff: open string 6 has three."""
    written = pitch.staff_height + _OCTAVE
    return max(0, _LOWEST_LINE - written, written - _HIGHEST_LINE) // 2
