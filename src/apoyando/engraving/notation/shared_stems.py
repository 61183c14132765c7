"""One stem for what the accompaniment strikes together in two voices.

Where bass and inner voice strike together, with stems down both, and the written values are
equal, a stem each would lie one on the other, with a flag in the middle of it. They share one
stem, as a chord does; ties and what each head is stay as they were (common practice, no source).
"""

from collections.abc import Mapping
from dataclasses import replace

from apoyando.engraving.notation.score import Event, NotatedBar, Silence, Sounding
from apoyando.engraving.notation.voices import BASS_VOICE


def share_stems(bar: NotatedBar) -> Mapping[int, tuple[Event, ...]]:
    """The voices of a bar, an inner strike moved into the bass voice where the two share a stem."""
    bass = list(bar.voices.get(BASS_VOICE, ()))
    beamed = frozenset(event_id for group in bar.beams for event_id in group)
    voices = dict(bar.voices)
    for voice in sorted(v for v in bar.voices if v > BASS_VOICE):
        events = list(voices[voice])
        for index, event in enumerate(events):
            place = _partner(event, bass, beamed)
            if place is not None and isinstance(event, Sounding):
                bass[place] = _joined(bass[place], event)
                events[index] = _gap(event)
        voices[voice] = tuple(events)
    return voices | ({BASS_VOICE: tuple(bass)} if bass else {})


def _partner(event: Event, bass: list[Event], beamed: frozenset[str]) -> int | None:
    """The place of the strike in the bass that this one can share a stem with."""
    return next((n for n, other in enumerate(bass) if _can_share(event, other, beamed)), None)


def _can_share(event: Event, other: Event, beamed: frozenset[str]) -> bool:
    if not isinstance(event, Sounding) or not isinstance(other, Sounding):
        return False
    is_single = not ({event.id, other.id} & beamed or event.tuplet or other.tuplet)
    heights = {note.pitch.staff_height for note in event.notes}
    is_apart = heights.isdisjoint(note.pitch.staff_height for note in other.notes)
    return is_single and is_apart and (event.onset, event.value) == (other.onset, other.value)


def _joined(bass: Event, event: Sounding) -> Event:
    if not isinstance(bass, Sounding):
        return bass
    heads = [*zip(bass.notes, bass.note_ids, strict=True), *zip(event.notes, event.note_ids, strict=True)]
    heads.sort(key=lambda head: (head[0].pitch.staff_height, head[0].pitch.midi))
    return replace(bass, notes=tuple(note for note, _ in heads), note_ids=tuple(name for _, name in heads))


def _gap(event: Sounding) -> Silence:
    """The time of a strike, hidden."""
    return Silence(
        id=event.id,
        onset=event.onset,
        duration=event.duration,
        value=event.value,
        tuplet=event.tuplet,
        is_shown=False,
    )
