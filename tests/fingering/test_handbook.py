"""What every handbook of the guitar shows, asked of the search on given notes.

All of it is common practice, without a source. A note is written string/fret-finger, as in
``references/passages.py``. The handbook is the measure, not the search.
"""

import re
from collections.abc import Sequence
from dataclasses import replace

import pytest

from apoyando.reading import load_default_levels
from builders import lowest_place, make_pitch
from references.passages import Answer, ask_passage

TABLE = load_default_levels()
LEVELS = {
    "early": TABLE["early"],
    "intermediate": TABLE["intermediate"],
    # As the arranger asks for it.
    "advanced": replace(TABLE["advanced"], small_barres=False),
}
USUAL = ("intermediate", "advanced")


def answer(voices: Sequence[str], level: str) -> Answer:
    """The search's answer to the notes of a written passage, its fingers taken away."""
    return ask_passage(*(re.sub(r"-\d", "", voice) for voice in voices), level=LEVELS[level])


def written(voices: Sequence[str]) -> tuple[str, ...]:
    """A passage without its lengths and rests."""
    words = [voice.split() for voice in voices]
    return tuple(" ".join(word.split(":")[0] for word in row if word[0] != "r") for row in words)


def chords(*shapes: tuple[str, str], quarters: int = 2) -> list[str]:
    """Shapes as frets and fingers from string 6 to string 1, one after another, a voice for each string.

    The tune is on string 1.
    """
    voices = ["".join(_word(index, *shape, quarters) for shape in shapes) for index in reversed(range(6))]
    return [voice for voice in voices if "/" in voice]


def _word(index: int, frets: str, fingers: str, quarters: int) -> str:
    note = "r" if frets[index] == "x" else f"{6 - index}/{frets[index]}-{fingers[index]}"
    return f" {note}:{quarters}"


NO_TUNE = "r:4"


def moved(shape: tuple[str, str], by: int) -> tuple[str, str]:
    frets, fingers = shape
    return "".join(fret if fret == "x" else str(int(fret) + by) for fret in frets), fingers


# Scales in first position: the finger is the fret.

SCALES = {
    "C": "C3 D3 E3 F3 G3 A3 B3 C4 D4 E4 F4 G4",
    "G": "G2 A2 B2 C3 D3 E3 F#3 G3 A3 B3 C4 D4 E4 F#4 G4",
    "D": "D3 E3 F#3 G3 A3 B3 C#4 D4 E4 F#4 G4",
    "A": "A2 B2 C#3 D3 E3 F#3 G#3 A3 B3 C#4 D4 E4 F#4 G#4",
    "E": "E2 F#2 G#2 A2 B2 C#3 D#3 E3 F#3 G#3 A3 B3 C#4 D#4 E4 F#4 G#4",
    "F": "F2 G2 A2 Bb2 C3 D3 E3 F3 G3 A3 Bb3 C4 D4 E4 F4 G4",
}


OVER_AN_OPEN_BASS = {
    "4/0": "A3 B3 C#4 D4 E4 F#4 G4",
    "5/0": "A3 B3 C#4 D4 E4 F#4 G#4",
    "6/0": "G#3 A3 B3 C#4 D#4 E4 F#4 G#4",
}


def in_first_position(names: Sequence[str]) -> str:
    places = [lowest_place(make_pitch(name).midi) for name in names]
    return " ".join(f"{p.string}/{p.fret}-{p.fret}" for p in places)


@pytest.mark.parametrize("level", LEVELS)
@pytest.mark.parametrize("way", ["up", "down"])
@pytest.mark.parametrize("key", SCALES)
def test_a_scale_in_first_position_takes_the_finger_of_the_fret(key: str, way: str, level: str) -> None:
    """Strings are free: the pitches alone are given."""
    names = SCALES[key].split()[:: 1 if way == "up" else -1]
    found = ask_passage(" ".join(f"{name}:1/2" for name in names), level=LEVELS[level])
    assert found.voices == (in_first_position(names),)


@pytest.mark.parametrize("level", LEVELS)
@pytest.mark.parametrize("bass", OVER_AN_OPEN_BASS)
def test_over_an_open_bass_it_does_so_too(bass: str, level: str) -> None:
    names = OVER_AN_OPEN_BASS[bass].split()
    tune = " ".join(f"{name}:1/2" for name in names)
    found = ask_passage(tune, f"{bass}:{len(names)}/2", level=LEVELS[level])
    assert found.voices[0] == in_first_position(names)


# Chords.

OPEN_CHORDS = {
    "C": ("x32010", "x32010"),
    "A": ("x02220", "x01230"),
    "G": ("320003", "210003"),
    "E": ("022100", "023100"),
    "D": ("xx0232", "xx0132"),
    "Am": ("x02210", "x02310"),
    "Em": ("022000", "012000"),
    "Dm": ("xx0231", "xx0231"),
    "G7": ("320001", "320001"),
    "D7": ("xx0212", "xx0213"),
    "E7": ("020100", "020100"),
    "A7": ("x02020", "x01020"),
    "B7": ("x21202", "x21304"),
    "F": ("xx3211", "xx3211"),
}
E_SHAPE, A_SHAPE = ("022100", "134211"), ("x02220", "x12341")
DIMINISHED = ("xx0101", "xx1324")


@pytest.mark.parametrize("level", USUAL)
@pytest.mark.parametrize("name", OPEN_CHORDS)
def test_an_open_chord_held_for_a_bar_has_its_usual_fingers(name: str, level: str) -> None:
    voices = chords(OPEN_CHORDS[name], quarters=4)
    assert answer(voices, level).voices == written(voices)


@pytest.mark.parametrize("level", USUAL)
@pytest.mark.parametrize("fret", [1, 2, 3, 5, 7])
def test_the_e_shape_is_moved_under_a_barre(fret: int, level: str) -> None:
    voices = chords(moved(E_SHAPE, fret))
    assert answer(voices, level).voices == written(voices)


@pytest.mark.parametrize(
    ("level", "fret"),
    [
        *((level, fret) for level in USUAL for fret in (1, 2, 3, 5, 7)),
    ],
)
def test_the_a_shape_is_moved_under_a_barre(level: str, fret: int) -> None:
    voices = chords(moved(A_SHAPE, fret))
    assert answer(voices, level).voices == written(voices)


@pytest.mark.parametrize("level", USUAL)
@pytest.mark.parametrize("shape", [E_SHAPE, A_SHAPE])
@pytest.mark.parametrize("fret", [3, 5])
def test_a_barre_chord_slides_up_as_it_is(shape: tuple[str, str], fret: int, level: str) -> None:
    voices = chords(moved(shape, fret), moved(shape, fret + 2))
    assert answer(voices, level).voices == written(voices)


@pytest.mark.parametrize("level", USUAL)
@pytest.mark.parametrize("fret", [3, 5])
def test_the_barre_stays_from_the_e_shape_to_the_a_shape(fret: int, level: str) -> None:
    voices = chords(moved(E_SHAPE, fret), moved(A_SHAPE, fret))
    assert answer(voices, level).voices == written(voices)


@pytest.mark.parametrize("level", USUAL)
@pytest.mark.parametrize("fret", [1, 2, 3, 5, 7])
def test_the_diminished_seventh_is_one_shape_at_every_fret(fret: int, level: str) -> None:
    voices = chords(moved(DIMINISHED, fret))
    assert answer(voices, level).voices == written(voices)


@pytest.mark.parametrize("level", USUAL)
def test_the_diminished_seventh_slides_down_fret_by_fret(level: str) -> None:
    voices = chords(*(moved(DIMINISHED, fret) for fret in (5, 4, 3, 2)), quarters=1)
    assert answer(voices, level).voices == written(voices)


@pytest.mark.parametrize("level", USUAL)
def test_the_diminished_seventh_moves_up_by_three_frets_as_it_is(level: str) -> None:
    voices = chords(moved(DIMINISHED, 1), moved(DIMINISHED, 4))
    assert answer(voices, level).voices == written(voices)


# From chord to chord.


@pytest.mark.parametrize("level", USUAL)
@pytest.mark.parametrize("way", [("C", "Am"), ("Am", "C")])
def test_fingers_1_and_2_are_pivots_between_c_and_a_minor(way: tuple[str, str], level: str) -> None:
    found = answer(chords(*(OPEN_CHORDS[name] for name in way)), level).voices
    assert {"2/1-1 2/1-1", "4/2-2 4/2-2"} <= set(found)


CHANGES = (
    ("C", "Am"),
    ("Am", "C"),
    ("Am", "E"),
    ("E7", "Am"),
    ("C", "G7"),
    ("G", "D"),
    ("D", "G"),
    ("Em", "G"),
    ("Am", "Dm"),
    ("E", "A"),
    ("Am", "D7"),
    ("C", "F"),
    ("F", "C"),
)


@pytest.mark.parametrize("level", USUAL)
@pytest.mark.parametrize("change", CHANGES)
def test_open_chords_keep_their_usual_fingers_when_they_change(change: tuple[str, str], level: str) -> None:
    """Half notes at 100: the hand lifts as a whole, and every player has learned the two shapes."""
    voices = [NO_TUNE, *chords(*(OPEN_CHORDS[name] for name in change))]
    assert answer(voices, level).voices == written(voices)


@pytest.mark.parametrize("level", USUAL)
@pytest.mark.parametrize("change", CHANGES)
def test_open_chords_keep_them_under_a_tune_on_string_1_too(change: tuple[str, str], level: str) -> None:
    voices = chords(*(OPEN_CHORDS[name] for name in change))
    assert answer(voices, level).voices == written(voices)


@pytest.mark.parametrize("level", USUAL)
@pytest.mark.parametrize("before", ["C", "A", "G", "E", "D", "Am", "Dm", "G7", "E7", "B7"])
def test_f_held_for_a_bar_is_a_barre_whatever_chord_was_before(before: str, level: str) -> None:
    voices = [NO_TUNE, *chords(OPEN_CHORDS[before], OPEN_CHORDS["F"], quarters=4)]
    assert answer(voices, level).voices == written(voices)


@pytest.mark.parametrize("level", USUAL)
@pytest.mark.parametrize(
    "voices",
    [
        ("1/1-1:1 1/3-4:1 1/1-1:2", "4/3-3:4", "3/2-2:4", "2/1-1:4"),
        ("1/1-1:1 1/3-4:1 1/1-1:2", "6/1-1:4", "4/3-3:4", "3/2-2:4"),
        ("2/1-1:1 2/3-4:1 2/1-1:2", "4/3-3:4", "3/2-2:4"),
        ("1/0-0:1 1/1-1:1 1/3-4:2", "4/3-3:4", "3/2-2:4"),
    ],
    ids=["half barre", "full barre", "tune on string 2", "tune from the open string"],
)
def test_f_major_is_held_under_a_moving_melody_with_finger_4_for_the_tune(
    voices: tuple[str, ...], level: str
) -> None:
    assert answer(voices, level).voices == written(voices)


@pytest.mark.parametrize("level", USUAL)
def test_a_suspension_over_a_half_barre_resolves_to_an_open_string_while_the_barre_stays(level: str) -> None:
    """D with its ninth in the tenor: E3 under the barre, then D3 open beside it."""
    voices = ("1/2-1:2", "2/3-2:2", "3/2-1:2", "4/2-1:1 4/0-0:1", "5/0-0:2")
    assert answer(voices, level).voices == written(voices)


@pytest.mark.parametrize("level", USUAL)
@pytest.mark.parametrize("before", ["", "1/0:1 "], ids=["at the start", "in the middle"])
def test_two_notes_of_the_tune_at_one_fret_ask_for_no_barre(before: str, level: str) -> None:
    """D4 and G4 over an open string, as a tune may begin."""
    found = ask_passage(before + "2/3:1 1/3:2", f"{'r:1 ' if before else ''}4/0:3", level=LEVELS[level])
    fingers = [word[-1] for word in found.voices[0].split()[-2:]]
    assert len(set(fingers)) == len(fingers)


# Guide fingers and shifts.


@pytest.mark.parametrize("level", USUAL)
def test_in_thirds_finger_1_is_the_guide_on_string_1(level: str) -> None:
    voices = ("1/1-1:1 1/3-1:1 1/5-1:1 1/7-1:1", "2/3-3:1 2/5-3:1 2/6-2:1 2/8-2:1")
    assert answer(voices, level).voices == written(voices)


@pytest.mark.parametrize("level", USUAL)
def test_in_sixths_finger_2_is_the_guide_on_string_3(level: str) -> None:
    voices = ("1/3-1:1 1/5-3:1 1/7-3:1 1/8-1:1", "3/4-2:1 3/5-2:1 3/7-2:1 3/9-2:1")
    assert answer(voices, level).voices == written(voices)


@pytest.mark.parametrize("level", USUAL)
def test_a_shift_over_an_open_string_costs_less_than_one_in_the_same_time_without_it(level: str) -> None:
    over = ask_passage("1/3:1/2 1/0:1/2 1/7:1", level=LEVELS[level])
    without = ask_passage("1/3:1 1/7:1", level=LEVELS[level])
    assert over.voices == ("1/3-1 1/0-0 1/7-4",)
    assert over.price is not None
    assert without.price is not None
    assert over.price < without.price


@pytest.mark.parametrize("level", USUAL)
def test_a_tune_that_climbs_takes_the_open_string_for_its_shift(level: str) -> None:
    """F4 G4 E4 B4 C5: E4 is open while the hand goes up, and not on string 2."""
    found = ask_passage("1/1:1/2 1/3:1/2 E4:1/2 B4:1/2 1/8:1", level=LEVELS[level]).voices
    assert found[0].split()[2] == "1/0-0"


# A note struck again.


@pytest.mark.parametrize("level", USUAL)
def test_a_note_of_the_tune_that_is_struck_again_keeps_its_finger(level: str) -> None:
    """C#4 over A: where the inner E3 ends finger 2 is free, and finger 3 stays all the same."""
    found = answer(("2/2:1 2/2:1/2 2/2:1/2", "5/0:2", "r:1/2 4/2:1/2"), level)
    assert found.voices == ("2/2-3 2/2-3 2/2-3", "5/0-0", "4/2-2")
