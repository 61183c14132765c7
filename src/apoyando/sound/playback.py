"""For a player that mixes by itself, such as a web page: a cue sheet with final gains, and its samples as files.

Each cue is then to be played so: start the sample at ``onset_s`` with ``gain``; at ``stop_s`` turn
it down to nothing within ``STOP_S``. Another speed divides all seconds by a factor; a voice is
turned up or down by a factor of its own; ``clicks`` are for the player to make.
"""

from dataclasses import replace

from apoyando.model.arrangement import Arrangement
from apoyando.sound.audio_file import AudioFormat, Tags, encode_audio
from apoyando.sound.cues import Cue, CueSheet, plan_cues
from apoyando.sound.mix import BOTH, MELODY_OVER_DB, ROLES, balance_cues, find_balance
from apoyando.sound.performance import perform
from apoyando.sound.pluck import FADE_OUT_S, LONGEST_S, render_sample
from apoyando.sound.samples import Sample
from apoyando.sound.stems import STOP_S
from apoyando.sound.takes import Take

PlainValue = dict[str, object]


def plan_playback(
    arrangement: Arrangement, melody_over_db: float = MELODY_OVER_DB, *, is_phrased: bool = True
) -> CueSheet:
    """The whole piece once, repeats played out, with the melody standing out by so many dB."""
    sheet = plan_cues(arrangement, Take(perform(arrangement)), is_phrased=is_phrased)
    return replace(sheet, cues=balance_cues(sheet, find_balance(sheet, melody_over_db), *BOTH))


def sample_seconds(sheet: CueSheet, slowest: float = 1.0) -> dict[Sample, float]:
    """How long each sample of a sheet is needed, down to a slowest speed (0.5: half as fast)."""
    needed: dict[Sample, float] = {}
    for cue in sheet.cues:
        seconds = cue.duration_s / slowest + STOP_S + FADE_OUT_S
        needed[cue.sample] = max(needed.get(cue.sample, 0.0), min(seconds, LONGEST_S))
    return needed


def encode_sample(sample: Sample, seconds: float, audio_format: AudioFormat = AudioFormat.OGG) -> bytes:
    """One plucked note, let ring for so many seconds (at most 8), as a file of one channel."""
    return encode_audio([render_sample(sample, seconds)], audio_format, Tags(title=sample.name), channels=1)


def describe_playback(sheet: CueSheet) -> PlainValue:
    """The sheet as JSON would carry it. ``voice`` is melody or accompaniment, ``sample`` a sample's name.

    Seconds are exact to a hundredth of a millisecond, gains to a ten-thousandth.
    """
    return {
        "duration_s": round(sheet.duration_s, 5),
        "stop_s": STOP_S,
        "notes": [_describe_cue(cue) for cue in sheet.cues],
        "bars": [
            {"index": bar.index, "number": bar.number, "onset_s": round(bar.onset_s, 5)} for bar in sheet.bars
        ],
        "beats": [{"onset_s": round(beat.onset_s, 5), "is_first": beat.is_first} for beat in sheet.beats],
    }


def _describe_cue(cue: Cue) -> PlainValue:
    voice = next(voice for voice, roles in ROLES.items() if cue.role in roles)
    return {
        "onset_s": round(cue.onset_s, 5),
        "duration_s": round(cue.duration_s, 5),
        "sample": cue.sample.name,
        "gain": round(cue.gain, 4),
        "voice": str(voice),
        "note": cue.note,
    }
