"""How the voices lead, by bars."""

from collections.abc import Iterator

from apoyando.model.arrangement import Arrangement
from apoyando.model.beat import count_beat
from apoyando.model.song import Bar
from apoyando.report.entries import Entry
from apoyando.teaching import (
    NonChordTone,
    VoiceLeading,
    VoiceMotion,
)


def describe_voice_leading(arrangement: Arrangement, leading: VoiceLeading) -> Entry:
    return {
        "changes": leading.changes,
        "changes_led": len({motion.onset for motion in leading.motions}),
        "broken_off": sum(tone.is_violated for tone in leading.tones),
        "bars": list(_describe_led_bars(arrangement, leading)),
    }


def _describe_led_bars(arrangement: Arrangement, leading: VoiceLeading) -> Iterator[Entry]:
    """The bars in which there is something to tell."""
    for bar in arrangement.bars:
        tones = [tone for tone in leading.tones if bar.span.contains(tone.span.onset)]
        motions = [motion for motion in leading.motions if bar.span.contains(motion.onset)]
        if tones or motions:
            yield {
                "number": bar.number,
                "tones": [_describe_tone(bar, tone) for tone in tones],
                "motions": [_describe_motion(bar, motion) for motion in motions],
            }


def _describe_tone(bar: Bar, tone: NonChordTone) -> Entry:
    return {
        "beat": str(count_beat(bar, tone.span.onset)),
        "onset_quarters": str(tone.span.onset),
        "voice": str(tone.note.role),
        "pitch": str(tone.note.pitch),
        "kind": str(tone.kind),
        "figure": tone.figure,
        "prepared_from": str(tone.preparation.onset) if tone.preparation else None,
        "resolution": str(tone.resolution.pitch) if tone.resolution else None,
        "stays_until": str(tone.span.offset),
        "stays": str(tone.stay) if tone.stay else None,
    }


def _describe_motion(bar: Bar, motion: VoiceMotion) -> Entry:
    return {
        "beat": str(count_beat(bar, motion.onset)),
        "onset_quarters": str(motion.onset),
        "kind": str(motion.kind),
        "from": str(motion.before.pitch),
        "to": str(motion.after.pitch),
        "to_voice": str(motion.after.role),
        "sounds_on": motion.sounds_on,
    }
