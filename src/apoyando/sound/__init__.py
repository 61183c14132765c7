"""The arrangement as sound."""

from apoyando.sound.midi import write_midi

__all__ = ["write_midi"]
