"""The piece as the page plays it: a cue sheet, and where each of its plucked notes is to be had."""

import re

from apoyando.model.arrangement import Arrangement
from apoyando.model.instrument import LAST_FRET, StringNumber
from apoyando.model.pitch import MidiNote
from apoyando.model.plan import HIGHEST_CAPO
from apoyando.sound import (
    AudioFormat,
    Sample,
    Stroke,
    describe_playback,
    encode_sample,
    harmonic_interval,
    plan_playback,
    room,
)
from apoyando.sound import sample_seconds as needed_seconds

SLOWEST = 0.4
"""Of the tempo: so slowly the page may play."""
LENGTHS_S = (1, 2, 4, 8)
"""Samples come in these lengths, so that another tempo or another plan seldom needs new ones."""
FORMAT = AudioFormat.WAV
"""Every browser decodes it, and the way is short."""
_NAME = re.compile(r"s([1-6])-f(\d{1,2})-n(\d{2,3})-(rest|free|thumb)(-open)?(?:-in([2-5]))?", re.ASCII)
_LOWEST_OPEN, _HIGHEST_OPEN = 30, 70


def describe_hearing(arrangement: Arrangement) -> dict[str, object]:
    """``describe_playback``, with the addresses of its samples by their names and their melody's lead in dB."""
    sheet = plan_playback(arrangement)
    needed = needed_seconds(sheet, SLOWEST)
    samples = {sample.name: f"/sound/{sample.name}/{_length(needed[sample])}" for sample in needed}
    return {**describe_playback(sheet), "samples": samples, "slowest": SLOWEST}


def _length(seconds: float) -> int:
    return next((length for length in LENGTHS_S if length >= seconds), LENGTHS_S[-1])


def render_named(name: str, length: str) -> bytes | None:
    """The file of a sample by its name and length; None where there is no such note on a guitar."""
    found = _NAME.fullmatch(name)
    if not found or length not in map(str, LENGTHS_S):
        return None
    string, fret, note = (int(found[number]) for number in (1, 2, 3))
    parts = int(found[6] or 1)
    open_note = note - fret - harmonic_interval(parts)
    if fret > LAST_FRET + HIGHEST_CAPO or not _LOWEST_OPEN <= open_note <= _HIGHEST_OPEN:
        return None
    sample = Sample(
        string=StringNumber(string),
        open_note=MidiNote(open_note),
        fret=fret,
        stroke=Stroke(found[4]),
        is_open=bool(found[5]) or fret == 0,
        parts=parts,
    )
    return encode_sample(sample, float(length), FORMAT)


def render_room() -> bytes:
    """What the room of the recorded tracks adds to a sound, without the sound itself.

    Samples at ``SAMPLE_RATE_HZ`` as 32-bit floats, the lowest byte first: all of the left ear, then
    all of the right.
    """
    response = room().copy()
    response[:, 0] -= 1.0
    return response.astype("<f4").tobytes()
