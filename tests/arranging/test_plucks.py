"""The right hand of a whole piece: strokes from notes, groups from bars."""

from collections.abc import Sequence
from dataclasses import replace

from apoyando.arranging.assembly import add_plucks
from apoyando.arranging.setting import Setting
from apoyando.model.arrangement import Note, Role
from apoyando.model.hand import Pluck
from apoyando.model.instrument import STANDARD_TUNING
from apoyando.model.prices import Prices
from apoyando.model.song import Bar
from apoyando.reading import load_default_levels
from builders import make_bars, make_line, small_arrangement

QUICK, SLOW = 0.4, 2.0
"""Seconds for a quarter: eighths every 0.2 s, or every second."""


def plucked(notes: Sequence[Note], bars: Sequence[Bar], seconds_per_quarter: float = QUICK) -> list[Note]:
    level = load_default_levels()["intermediate"]
    setting = Setting(STANDARD_TUNING, level, Prices(), seconds_per_quarter)
    return list(add_plucks(notes, bars, setting))


def fingers(notes: Sequence[Note]) -> str:
    return "".join(note.pluck or "?" for note in notes)


def test_every_note_gets_a_finger_and_nothing_else_changes() -> None:
    piece = small_arrangement()
    notes = plucked(piece.notes, piece.bars)
    assert all(note.pluck for note in notes)
    assert [(n.onset, n.place, n.finger) for n in notes] == [
        (n.onset, n.place, n.finger) for n in sorted(piece.notes, key=lambda n: (n.onset, -n.place.string))
    ]


def test_the_thumb_has_the_bass() -> None:
    piece = small_arrangement()
    assert {n.pluck for n in plucked(piece.notes, piece.bars) if n.role is Role.BASS} == {Pluck.P}


def test_the_tempo_says_what_is_quick() -> None:
    tune = make_line("melody", "E4:1/2 E4:1/2 E4:1/2 E4:1/2")
    assert fingers(plucked(tune, make_bars(1))) == "imim"
    assert fingers(plucked(tune, make_bars(1), SLOW)) == "aaaa"


def eighths(strings: str) -> list[Note]:
    """Open strings in eighths, those on string 1 the melody's."""
    line = " ".join({"1": "E4:1/2", "2": "B3:1/2", "3": "G3:1/2"}[string] for string in strings)
    notes = make_line("inner", line)
    return [replace(n, role=Role.MELODY) if n.place.string == 1 else n for n in notes]


def test_in_a_bar_of_four_each_half_is_a_pattern() -> None:
    again, between = "2121", "21222331"
    halved = fingers(plucked(eighths(again + between + again), make_bars(2)))
    whole = fingers(plucked(eighths(again + between + again), make_bars(1, "8/4")))
    assert halved[:4] == halved[-4:]
    assert whole[:4] != whole[-4:]


def test_a_bar_of_three_is_one_pattern_and_is_not_halved() -> None:
    again, other, last = "113313", "113233", "333232"
    notes = eighths(again + other + again + last)
    in_threes = fingers(plucked(notes, make_bars(4, "3/4")))
    in_twos = fingers(plucked(notes, make_bars(4, "6/8")))
    assert in_threes[:6] == in_threes[12:18]
    assert in_twos[:6] != in_twos[12:18]
