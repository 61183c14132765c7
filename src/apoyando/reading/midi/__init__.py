"""Standard MIDI Files (MIDI 1.0), played or written out: notes in bars, values guessed where they must be."""

from apoyando.reading.midi.full_score import draft_full_midi
from apoyando.reading.midi.riff import is_midi_in_riff
from apoyando.reading.midi.score import draft_midi

__all__ = ["draft_full_midi", "draft_midi", "is_midi_in_riff"]
