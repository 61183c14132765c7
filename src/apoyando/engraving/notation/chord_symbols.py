"""Chord symbols as they are printed: ``B♭``, ``F♯m⁷``, ``Cᵐᵃʲ⁷``, ``D/F♯``.

A symbol is a row of runs. The letters of root, quality and bass stand on the line, the
figures above them stand raised and smaller (common practice of song books, no source).
A chord on F double sharp, where a song was moved, is printed as one on G: a symbol is read at a
glance, and the notes have the chord's own spelling.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from apoyando.model.harmony import Chord, Degree, DegreeChange
from apoyando.model.pitch import PitchName

NO_CHORD = "N.C."
ACCIDENTALS = {-3: "♭♭♭", -2: "♭♭", -1: "♭", 0: "", 1: "♯", 2: "♯♯", 3: "♯♯♯"}

QUALITIES: dict[str, tuple[str, str]] = {
    "major": ("", ""),
    "minor": ("m", ""),
    "augmented": ("", "+"),
    "diminished": ("", "°"),
    "dominant": ("", "7"),
    "major-seventh": ("", "maj7"),
    "minor-seventh": ("m", "7"),
    "diminished-seventh": ("", "°7"),
    "augmented-seventh": ("", "+7"),
    "half-diminished": ("m", "7(♭5)"),
    "major-minor": ("m", "(maj7)"),
    "major-sixth": ("", "6"),
    "minor-sixth": ("m", "6"),
    "dominant-ninth": ("", "9"),
    "major-ninth": ("", "maj9"),
    "minor-ninth": ("m", "9"),
    "dominant-11th": ("", "11"),
    "major-11th": ("", "maj11"),
    "minor-11th": ("m", "11"),
    "dominant-13th": ("", "13"),
    "major-13th": ("", "maj13"),
    "minor-13th": ("m", "13"),
    "suspended-second": ("", "sus2"),
    "suspended-fourth": ("", "sus4"),
    # Chords named by function, printed as what the hand plays: their augmented sixth is a
    # minor seventh in sound.
    "Neapolitan": ("", ""),
    "Italian": ("", "7(no5)"),
    "French": ("", "7(♭5)"),
    "German": ("", "7"),
    "Tristan": ("m", "7(♭5)"),
    "pedal": ("", "(pedal)"),
    "power": ("", "5"),
}
"""For each kind of ``KIND_DEGREES``: what stands on the line, and what stands raised."""

_MOST_ACCIDENTALS = 1
_TRIADS = {"major", "minor", "augmented", "diminished", "suspended-second", "suspended-fourth", "power"}
_SUSPENDED = {"suspended-second", "suspended-fourth"}


@dataclass(frozen=True, slots=True)
class Run:
    """A stretch of one size. ``is_raised``: smaller, and above the line."""

    text: str
    is_raised: bool = False


def print_chord(chord: Chord | None) -> tuple[Run, ...]:
    """The runs of a chord symbol, none of them empty; ``N.C.`` for no chord."""
    if chord is None:
        return (Run(NO_CHORD),)
    on_line, raised = QUALITIES[chord.kind]
    plain = chord.transposed(chord.root.plainer_by(_MOST_ACCIDENTALS))
    bass = plain.bass and plain.bass.transposed(plain.bass.plainer_by(_MOST_ACCIDENTALS))
    runs = (
        Run(print_name(plain.root) + on_line),
        Run(_figures(chord, raised), is_raised=True),
        Run(f"/{print_name(bass)}" if bass else ""),
    )
    return tuple(run for run in runs if run.text)


def print_name(name: PitchName) -> str:
    """``B♭``."""
    return name.step + ACCIDENTALS.get(name.alter, f"({name.alter:+d})")


def plain_text(runs: tuple[Run, ...]) -> str:
    """All of it on one line: ``F♯m7``."""
    return "".join(run.text for run in runs)


def _figures(chord: Chord, raised: str) -> str:
    degrees = list(chord.degrees)
    if chord.kind in _SUSPENDED:
        raised = _take_plain_sevenths(degrees) + raised
    if chord.kind in {"major-sixth", "minor-sixth"} and Degree(9, 0, DegreeChange.ADD) in degrees:
        degrees.remove(Degree(9, 0, DegreeChange.ADD))
        raised = "6/9"
    return raised + _in_brackets(list(_print_degrees(chord.kind, degrees)))


def _take_plain_sevenths(degrees: list[Degree]) -> str:
    """The figure before ``sus``: ``7`` of ``7sus4``, ``9`` of ``9sus4``; takes those degrees away."""
    plain = [d for d in degrees if d.change is DegreeChange.ADD and d.alter == 0 and d.value in {7, 9, 13}]
    if Degree(7, 0, DegreeChange.ADD) not in plain:
        return ""
    for degree in plain:
        degrees.remove(degree)
    return str(max(degree.value for degree in plain))


def _print_degrees(kind: str, degrees: list[Degree]) -> Iterator[str]:
    for degree in sorted(degrees, key=lambda d: d.value):
        figure = f"{ACCIDENTALS.get(degree.alter, '')}{degree.value}"
        if degree.change is DegreeChange.SUBTRACT:
            yield f"no{degree.value}"
        elif degree.change is DegreeChange.ADD and (kind in _TRIADS or degree.alter == 0):
            yield f"add{figure}"
        else:
            yield figure


def _in_brackets(figures: list[str]) -> str:
    if len(figures) == 1 and figures[0].startswith("add"):
        return figures[0]
    return f"({','.join(figures)})" if figures else ""
