"""All the notes of a piece to its chord symbols."""

from collections.abc import Collection, Sequence

from apoyando.model.score import ScoreNote
from apoyando.model.song import Bar
from apoyando.model.time import Quarters
from apoyando.reading.draft import DraftChord
from apoyando.reading.harmony.decoding import decode
from apoyando.reading.harmony.evidence import weigh_cells
from apoyando.reading.harmony.keys import find_keys
from apoyando.reading.harmony.naming import name_chords
from apoyando.reading.harmony.templates import Templates
from apoyando.reading.harmony.weights import WEIGHTS, Weights


def find_chords(
    notes: Sequence[ScoreNote],
    bars: tuple[Bar, ...],
    tune: Collection[ScoreNote] = (),
    weights: Weights = WEIGHTS,
) -> tuple[DraftChord, ...]:
    """The chords of a piece, each lasting to the next; none before the accompaniment begins.

    ``notes`` are all of them, ties merged, in order of onset, ``tune`` those among them that
    are sung: they lean and pass more, and are no bass. Law: the same notes give the same chords.
    """
    sung = frozenset(tune)
    begin = min((note.onset for note in notes if note not in sung), default=None)
    if begin is None:
        return ()
    cells = weigh_cells(notes, bars, sung, weights)
    found = decode(cells, find_keys(cells, bars, weights), Templates(weights))
    chords = name_chords(found, cells, bars, sung)
    return _from(chords, max(span.onset for span in cells.spans if span.onset <= begin))


def _from(chords: Sequence[DraftChord], begin: Quarters) -> tuple[DraftChord, ...]:
    """Without what the tune alone would say before the accompaniment sets in."""
    before = [chord for chord in chords if chord.onset <= begin]
    later = tuple(chord for chord in chords if chord.onset > begin)
    return (*(DraftChord(begin, chord.chord) for chord in before[-1:]), *later)
