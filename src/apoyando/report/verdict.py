"""What the rooms that look at a finished arrangement say of it."""

from dataclasses import dataclass, field

from apoyando.model.ring import Ring
from apoyando.proofing import Certificate, Finding
from apoyando.teaching import (
    BarDifficulty,
    VoiceLeading,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Verdict:
    """What the rooms that look at a finished arrangement say of it."""

    certificate: Certificate
    over_level: tuple[Finding, ...]
    difficulties: tuple[BarDifficulty, ...]
    rings: tuple[Ring, ...] = ()
    voice_leading: VoiceLeading = field(default_factory=VoiceLeading)
