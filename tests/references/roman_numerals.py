"""Other people's harmonic analyses: the Roman numerals that music21's corpus carries.

Bach chorales 1 to 20 in Riemenschneider's count, analysed by Andrew Jones and Dmitri Tymoczko and
proofread by Hamish Robb, and madrigals of Monteverdi. Onsets in quarters from the start of the
piece. An analysis names a chord for every eighth, a lead sheet does not; so full agreement is
neither reached nor wanted.
"""

import re
from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from music21 import common, converter, roman

from apoyando.model.harmony import HarmonySpan

CORPUS = Path(str(common.getCorpusFilePath()))
PRINTED_IN_ANOTHER_KEY = {14: 7, 17: 2}
"""Semitones from the key of the analysis up to that of the score."""
WITHOUT_SCORE = (9, 11)
OTHER_LENGTH = (15,)
"""The score writes the repeats otherwise than the analysis."""
CHORALES = tuple(n for n in range(1, 21) if n not in (*WITHOUT_SCORE, *OTHER_LENGTH))
TUNED_ON = tuple(n for n in CHORALES if n % 2)
"""The chorales on which the weights were tuned; the others were kept apart."""
MADRIGALS = ("3.1", "3.10", "3.15", "4.10", "4.15", "5.3", "5.6")
STEP = 0.25
"""Agreement is counted so often in a quarter."""

TRIAD_OF_KIND = {
    "major": "major",
    "dominant": "major",
    "major-seventh": "major",
    "major-sixth": "major",
    "minor": "minor",
    "minor-seventh": "minor",
    "minor-sixth": "minor",
    "diminished": "diminished",
    "half-diminished": "diminished",
    "diminished-seventh": "diminished",
    "augmented": "augmented",
    "suspended-fourth": "suspended",
}
"""The triad at the bottom of each kind that is looked for."""


@dataclass(frozen=True)
class Reference:
    """A chord that somebody else names there: root as a pitch class, and its triad."""

    onset: float
    offset: float
    root: int
    triad: str


@dataclass(frozen=True)
class Piece:
    name: str
    path: Path
    references: tuple[Reference, ...]


@dataclass(frozen=True)
class Agreement:
    """In quarters: all that is compared, the same root, the same root and triad."""

    total: float
    root: float
    triad: float

    def __add__(self, other: "Agreement") -> "Agreement":
        return Agreement(self.total + other.total, self.root + other.root, self.triad + other.triad)


NONE = Agreement(0, 0, 0)


@cache
def read_chorale(number: int) -> Piece:
    analysis = CORPUS / "bach" / "choraleAnalyses" / f"riemenschneider{number:03}.rntxt"
    work = re.search(r"BWV: *(\S+)", analysis.read_text(encoding="utf-8"))
    assert work
    path = CORPUS / "bach" / f"bwv{work[1]}.mxl"
    return Piece(f"chorale {number}", path, _read(analysis, PRINTED_IN_ANOTHER_KEY.get(number, 0)))


@cache
def read_madrigal(number: str) -> Piece:
    folder = CORPUS / "monteverdi"
    return Piece(
        f"madrigal {number}",
        folder / f"madrigal.{number}.mxl",
        _read(folder / f"madrigal.{number}.rntxt", 0),
    )


def _read(analysis: Path, semitones: int) -> tuple[Reference, ...]:
    stream = converter.parse(analysis, forceSource=True)
    numerals = list(stream.flatten().getElementsByClass(roman.RomanNumeral))
    offsets = [float(numeral.offset) for numeral in numerals]
    ends = [*offsets[1:], float(stream.highestTime)]
    return tuple(
        Reference(onset, offset, (numeral.root().pitchClass + semitones) % 12, str(numeral.quality))
        for onset, offset, numeral in zip(offsets, ends, numerals, strict=True)
        if onset < offset
    )


def agree(harmony: Sequence[HarmonySpan], references: Sequence[Reference]) -> Agreement:
    """How much of the time two analyses agree; where one of them says nothing they do not."""
    onsets = [float(span.onset) for span in harmony]
    total = root = triad = 0.0
    for reference in references:
        for step in range(round((reference.offset - reference.onset) / STEP)):
            moment = reference.onset + step * STEP
            place = bisect_right(onsets, moment) - 1
            chord = harmony[place].chord if place >= 0 and moment < harmony[place].offset else None
            total += STEP
            if chord is not None and chord.root.pitch_class == reference.root:
                root += STEP
                triad += STEP * (TRIAD_OF_KIND.get(chord.kind) == reference.triad)
    return Agreement(total, root, triad)
