"""The mix: melody over accompaniment by a set number of dB, in the room, at one loudness, never too loud.

Conventions: loudness in LUFS by BS.1770, levels in dB, peaks in dB of full scale.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from enum import StrEnum

from apoyando.model.arrangement import Role
from apoyando.sound.clicks import add_clicks
from apoyando.sound.convolution import convolve
from apoyando.sound.cues import BeatCue, Cue, CueSheet
from apoyando.sound.limiter import limit_peaks
from apoyando.sound.loudness import SILENCE, measure_loudness
from apoyando.sound.room import room
from apoyando.sound.samples import Sound, from_db
from apoyando.sound.stems import render_stem

MELODY_OVER_DB = 6.0
"""The melody stands out and the accompaniment is still clear (an estimate, no source)."""
TARGET_LUFS = -20.0
"""Quieter than music is sold today, so that the attack of a string needs no limiting and ears are spared
(EBU R 128 has -23 for broadcasting)."""
CEILING_DB = -1.5
"""Under full scale, for what lies between the samples and what a lossy coder adds (EBU R 128: -1 dBTP)."""


class Voice(StrEnum):
    """What can be heard alone."""

    MELODY = "melody"
    ACCOMPANIMENT = "accompaniment"


ROLES = {Voice.MELODY: (Role.MELODY,), Voice.ACCOMPANIMENT: (Role.BASS, Role.INNER)}
BOTH = tuple(Voice)


@dataclass(frozen=True, slots=True)
class Balance:
    """A factor for each voice."""

    gains: Mapping[Voice, float] = field(default_factory=dict)

    def gain(self, voice: Voice) -> float:
        return self.gains.get(voice, 1.0)


def find_balance(sheet: CueSheet, melody_over_db: float = MELODY_OVER_DB) -> Balance:
    """The gains at which the melody's stem is so much louder than the accompaniment's.

    Both are measured alone, before the room. Where one of them is silent all gains are 1.
    """
    melody, accompaniment = (
        measure_loudness(render_stem(sheet.of(*ROLES[voice]), sheet.duration_s)) for voice in BOTH
    )
    if SILENCE in {melody, accompaniment}:
        return Balance()
    return Balance({Voice.ACCOMPANIMENT: from_db(melody - accompaniment - melody_over_db)})


def balance_cues(sheet: CueSheet, balance: Balance, *voices: Voice) -> tuple[Cue, ...]:
    """The cues of these voices together, each with the gain of its voice."""
    gains = {role: balance.gain(voice) for voice in voices for role in ROLES[voice]}
    return tuple(replace(cue, gain=cue.gain * gains[cue.role]) for cue in sheet.of(*gains))


def render_mix(
    cues: Sequence[Cue],
    duration_s: float,
    clicks: Sequence[BeatCue] = (),
    target_lufs: float = TARGET_LUFS,
) -> Iterator[Sound]:
    """The cues in the room, in blocks of two rows: left and right.

    They are heard twice: once to measure their loudness, and once to be rendered at the target.
    Clicks come on top of it, dry and always alike. Memory does not grow with the length.
    """
    ears = room()
    loudness = measure_loudness(render_stem(cues, duration_s), ears)
    gain = 1.0 if loudness == SILENCE else from_db(target_lufs - loudness)
    blocks = convolve(render_stem(cues, duration_s), gain * ears, ears.shape[1] - 1)
    return limit_peaks(add_clicks(blocks, clicks), from_db(CEILING_DB))
