"""The plucked notes that the page asks for, by their names."""

import wave
from io import BytesIO
from itertools import product
from typing import Any

import numpy as np
import pytest

from apoyando.desk.hearing import LENGTHS_S, SLOWEST, describe_hearing, render_named
from apoyando.sound import SAMPLE_RATE_HZ, Sample, Stroke, render_sample
from builders import make_arrangement, make_bars, make_line, make_note

PIECE = make_arrangement(
    (*make_line("melody", "E4:1 G4:1 C4:2"), make_note("bass", 0, 4, "C3")), make_bars(1)
)


def read_wave(data: bytes) -> tuple[int, Any]:
    """By the standard library."""
    with wave.open(BytesIO(data)) as file:
        frames = np.frombuffer(file.readframes(file.getnframes()), np.int16)
        assert (file.getnchannels(), file.getframerate()) == (1, SAMPLE_RATE_HZ)
        return file.getnframes(), frames / 32768


def test_every_note_of_the_sheet_has_a_sample_that_can_be_had() -> None:
    told: Any = describe_hearing(PIECE)

    assert len(told["notes"]) == len(PIECE.notes)
    for note in told["notes"]:
        _, _, name, length = told["samples"][note["sample"]].split("/")
        frames, _ = read_wave(render_named(name, length) or b"")
        needed = note["duration_s"] / SLOWEST + told["stop_s"]
        assert frames >= min(needed, LENGTHS_S[-1]) * SAMPLE_RATE_HZ


def test_it_is_the_sound_of_that_string_and_stroke() -> None:
    """Every kind of name is read as the sample that has it."""
    for string, fret, stroke, is_open in product((1, 6), (0, 3), Stroke, (True, False)):
        note = {1: 64, 6: 40}[string]
        sample = Sample(string, note, fret, stroke, is_open=is_open or fret == 0)  # type: ignore[arg-type]
        _, heard = read_wave(render_named(sample.name, "1") or b"")
        assert np.abs(heard - render_sample(sample, 1.0)[0]).max() < 1e-3


@pytest.mark.parametrize(
    ("name", "length"),
    [
        ("s2-f3-n62-rest", "3"),
        ("s2-f3-n62-rest", "99999"),
        ("s2-f3-n62-rest", ""),
        ("s7-f3-n62-rest", "1"),
        ("s2-f29-n88-rest", "1"),
        ("s2-f3-n99-rest", "1"),
        ("s2-f3-n62-bowed", "1"),
        ("../../secret", "1"),
        ("", "1"),
    ],
)
def test_what_is_no_note_of_a_guitar_is_not_rendered(name: str, length: str) -> None:
    assert render_named(name, length) is None
