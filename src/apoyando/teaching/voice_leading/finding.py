"""All that is found of the voices of a piece."""

from collections.abc import Sequence

from apoyando.model.arrangement import Arrangement, Role
from apoyando.model.ring import Ring
from apoyando.teaching.voice_leading.findings import VoiceLeading
from apoyando.teaching.voice_leading.harmonies import Score, join_harmonies
from apoyando.teaching.voice_leading.inner import inner_changes, motions
from apoyando.teaching.voice_leading.melody import melody_tones
from apoyando.teaching.voice_leading.suspensions import suspended_tones


def find_voice_leading(arrangement: Arrangement, rings: Sequence[Ring] = ()) -> VoiceLeading:
    """The non-chord tones and the steps of the inner voice. ``rings`` are those of the arrangement."""
    score = Score(
        arrangement=arrangement,
        harmonies=join_harmonies(arrangement),
        bass=arrangement.voice(Role.BASS),
        ring_of={id(ring.note): ring for ring in rings},
    )
    tones = [*melody_tones(score), *suspended_tones(score)]
    changes = list(inner_changes(score))
    return VoiceLeading(
        tones=tuple(sorted(tones, key=lambda tone: tone.span.onset)),
        motions=tuple(motion for change in changes for motion in motions(score, change)),
        changes=len(changes),
    )
