"""Another chord tone in the bass: where it serves the line of the bass, and where it is given up.

The rules are those of harmony texts on inversions (common practice; Kostka & Payne, *Tonal
Harmony*, from memory): a line by step, with the passing and the neighbour six-four; a third or seventh
that leads, and the four-three chord; the third to which a seventh in the bass resolves; a third by step
from which the chord is gone through to its root; a pedal; the cadential six-four; and a harmony whose
root has been heard.
"""

from itertools import product

import pytest

from apoyando.arranging import arrange_in_key
from apoyando.arranging.bass_line import BassStroke, explain_inversion
from apoyando.arranging.losses import _count_harmonies
from apoyando.arranging.texture import BassDue, Window
from apoyando.model.arrangement import Relaxation, RelaxationStep
from apoyando.model.harmony import Chord, chord_tones
from apoyando.model.plan import Plan
from apoyando.model.time import Quarters, Span
from apoyando.proofing import Breach, Proof, prove_report
from apoyando.reading import load_default_levels
from builders import make_arrangement, make_harmony, make_line, make_pitch, make_song
from proofing.scene import breaches_of, song_of

INTERMEDIATE = load_default_levels()["intermediate"]


def chord(symbol: str) -> Chord:
    (span,) = make_harmony(f"{symbol}:1")
    assert span.chord
    return span.chord


def strokes(text: str) -> list[BassStroke]:
    """ "C:C3 G:B2": a chord and its bass, stroke by stroke; the same chord again is the same harmony."""
    made: list[BassStroke] = []
    for word in text.split():
        symbol, pitch = word.split(":")
        here = chord(symbol)
        is_new = not made or not made[-1].chord.is_same_as(here)
        number = made[-1].harmony + is_new if made else 0
        made.append(BassStroke(make_pitch(pitch).midi, here, number))
    return made


def explain(text: str, at: int) -> str:
    return explain_inversion(strokes(text), at)


@pytest.mark.parametrize(
    ("basses", "at", "reason"),
    [
        ("C:C3 G:B2 A.minor:A2", 1, "the bass goes by step, C–B–A"),
        ("G:G2 C.dominant:Bb2 F:A2", 1, "the bass leads by step into the next chord, Bb–A"),
        ("C:C3 D:F#2 G:G2", 1, "the bass leads by step into the next chord, F#–G"),
        ("G:G2 D:F#2 D:A2 G:G2", 1, "the bass goes by step, G–F#–G"),
        ("C:C3 G:D3 C:E3", 1, "the bass goes by step, C–D–E"),  # the passing six-four
        ("C:C3 G:D3 C:C3", 1, "the bass goes by step, C–D–C"),  # the neighbour
        ("C:G2 G.dominant:D3 C:C3", 1, "the bass leads by step into the next chord, D–C"),  # four-three
        ("C:G2 G.dominant:D3 C:E3", 1, "the bass leads by step into the next chord, D–E"),
        ("G.dominant:F2 C:E2 A.minor:A2", 1, "the seventh in the bass falls by step, F–E"),  # V4/2–I6
        ("C.dominant:Bb2 F:A2 F:A2 D.minor:D3", 2, "the seventh in the bass falls by step, Bb–A"),
        ("C:C3 G:B2 G:G2 C:C3", 1, "the bass goes by step to B, and through the chord to G"),
        ("C:C3 G:B2 G:B2 G:G2 C:C3", 2, "the bass goes by step to B, and through the chord to G"),
        ("C:C3 G:B2 G:D3 G:G2 F:F2", 1, "the bass goes by step to B, and through the chord to G"),
        ("C:C3 G:B2 G:B2 A.minor:A2", 2, "the bass goes by step, C–B–A"),  # struck twice on its way
        ("E:E2 A:E2 E:E2", 1, "the bass stays on E while the harmony moves over it"),
        ("E:E2 A:E2 A:E2 E:E2", 2, "the bass stays on E while the harmony moves over it"),
        ("C:E2 G:D3 D:D3 G:G2", 1, "the bass stays, D, and is that of the next chord"),
        ("F:F2 F:A2 F:A2 Bb:Bb2", 2, "F has been in the bass of this harmony"),
    ],
)
def test_an_inversion_that_serves_the_line_says_how(basses: str, at: int, reason: str) -> None:
    assert explain(basses, at) == reason


@pytest.mark.parametrize(
    ("basses", "at"),
    [
        ("C:C3 F:A2 C:C3", 1),  # it leaps in and out
        ("G:G2 F:A2 Bb:D3", 1),  # reached by step, and left by leap
        ("C:C3 C:E2 D.minor:D3", 0),  # the root itself is no inversion, and has no reason
        ("G:B2 G:B2 E.minor:E2", 1),  # the root was not heard
        ("C:E2 B.diminished:D3 C:C3", 1),  # a third that falls and is not reached by step
        ("G.dominant:F2 C:G2", 0),  # a seventh that rises
        ("D:A2 G:G2", 0),  # a fifth of a triad that is not reached by step
        ("C:G2 G:D3 C:C3", 1),
        ("C:C3 G.dominant:D3 C:G2", 1),  # a fifth that leaps on
        ("G.dominant:F2 C:G2 C:E2 A.minor:A2", 2),  # the seventh has not fallen to it
        ("G:F#2 C:E2 A.minor:A2", 1),  # nor was that a seventh
        ("G.dominant:F2 D:F#2 A.minor:A2", 1),  # nor does it fall
        ("C:C3 F:A2 F:F2 C:C3", 1),  # third and root, and not reached by step
        ("C:C3 G:B2 G:D3 F:F2", 1),  # by step, and on to the fifth alone
        ("C:C3 G:B2 C:C3 G:G2", 3),  # a root is no inversion
        ("C:C3 F:C3 G:G2", 1),  # it stays but for once
        ("C:C3 G/D:B2 A.minor:A2", 1),  # the song has named another
        ("C:C3 G:B2", 1),  # nothing follows
    ],
)
def test_an_inversion_that_serves_nothing_is_given_up(basses: str, at: int) -> None:
    assert explain(basses, at) == ""


CHORDS = ("C", "G.dominant", "D.minor", "G/B", "A.minor")
NOTES = ("E2", "F2", "G2", "A2", "B2", "C3", "D3", "E3")


def is_tone(stroke: BassStroke) -> bool:
    return stroke.note % 12 in {tone.name.pitch_class for tone in chord_tones(stroke.chord)}


@pytest.mark.parametrize(
    ("count", "chords", "notes"),
    [
        (3, CHORDS, NOTES),
        (4, ("C", "G.dominant"), ("E2", "F2", "G2", "B2", "C3")),  # struck twice, or gone through
    ],
)
def test_the_proofing_room_comes_to_the_same_of_every_few_basses_under_every_few_chords(
    count: int, chords: tuple[str, ...], notes: tuple[str, ...]
) -> None:
    """The small world exhausted: what one room explains the other believes, and nothing else."""
    seen = {True: 0, False: 0}
    for symbols in product(chords, repeat=count):
        for basses in product(notes, repeat=count):
            words = " ".join(f"{s}:{n}" for s, n in zip(symbols, basses, strict=True))
            row = strokes(words)
            if row[1].is_wanted or not all(is_tone(each) for each in row):
                continue
            is_line = bool(explain_inversion(row, 1))
            seen[is_line] += 1
            assert is_believed(symbols, basses) == is_line, words
    assert min(seen.values()) > 100


def is_believed(symbols: tuple[str, ...], notes: tuple[str, ...]) -> bool:
    """Whether the proof lets the second bass pass as serving the line."""
    arrangement = make_arrangement(
        make_line("bass", " ".join(f"{note}:4" for note in notes)),
        harmony=make_harmony(" ".join(f"{symbol}:4" for symbol in symbols)),
        relaxations=tuple(
            Relaxation(step, str(number + 1), number * make_line("bass", "C3:4")[0].duration, "")
            for number in range(len(notes))
            for step in [RelaxationStep.BASS_LINE if number == 1 else RelaxationStep.BASS_INVERSION]
        ),
    )
    answer = prove_report(arrangement, song_of(arrangement))
    if isinstance(answer, Proof):
        return True
    return not any(witness.bar == "2" and "does not" in witness.sentence for witness in answer.witnesses)


def test_a_bass_that_nobody_tells_of_is_refuted() -> None:
    arrangement = make_arrangement(make_line("bass", "E2:4"), harmony=make_harmony("C:4"))
    assert breaches_of(prove_report(arrangement, song_of(arrangement))) == [Breach.BASS_UNTOLD]


def test_the_bass_that_a_slash_names_needs_no_telling() -> None:
    arrangement = make_arrangement(make_line("bass", "E2:4"), harmony=make_harmony("C/E:4"))
    assert isinstance(prove_report(arrangement, song_of(arrangement)), Proof)


def test_a_bass_that_serves_the_line_is_listed_and_not_given_up() -> None:
    song = make_song("E4:3 G4:3 E4:3", "C:3 G:3 A.minor:3", meter="3/4", count=3)
    (told,) = arrange_in_key(song, Plan(melody_octave=0), INTERMEDIATE, song.key).relaxations
    assert told.step is RelaxationStep.BASS_LINE
    assert not told.step.is_given_up
    assert RelaxationStep.BASS_INVERSION.is_given_up


def test_no_harmony_follows_another_over_a_pickup_or_a_bar_without_a_chord() -> None:
    """Written out, a song has its pickup in the middle: nobody plays a bass there, but it may have a chord."""

    def window(onset: int, offset: int, symbol: str) -> Window:
        span, here = Span(Quarters(onset), Quarters(offset)), chord(symbol)
        return Window(span, here, (BassDue(span, here, is_first=True),), ())

    numbers = _count_harmonies([window(0, 3, "C"), window(3, 6, "C"), window(6, 9, "G"), window(10, 13, "C")])
    assert [numbers[Quarters(onset)] for onset in (0, 3, 6, 10)] == [2, 2, 3, 5]
