"""One stem for what the accompaniment strikes together in two voices.

Where bass and inner voice strike together, with stems down both, and the written values are
equal, a stem each would lie one on the other, with a flag in the middle of it. They share one
stem, as a chord does; ties and what each head is stay as they were (common practice, no source).
An inner strike at the end of a beam leaves it for that; what is left alone under it has a flag.
"""

from dataclasses import replace

from apoyando.engraving.notation.score import Event, NotatedBar, Silence, Sounding
from apoyando.engraving.notation.voices import BASS_VOICE

Beams = tuple[tuple[str, ...], ...]


def share_stems(bar: NotatedBar) -> NotatedBar:
    """The bar with an inner strike moved into the bass voice where the two share a stem."""
    bass = list(bar.voices.get(BASS_VOICE, ()))
    voices, beams = dict(bar.voices), bar.beams
    for voice in sorted(v for v in bar.voices if v > BASS_VOICE):
        events = list(voices[voice])
        for index, event in enumerate(events):
            place = next((n for n, other in enumerate(bass) if _can_share(event, other, beams)), None)
            if place is not None and isinstance(event, Sounding):
                bass[place] = _joined(bass[place], event)
                events[index] = _gap(event)
                beams = _without(event.id, beams)
        voices[voice] = tuple(events)
    return replace(bar, voices=voices | ({BASS_VOICE: tuple(bass)} if bass else {}), beams=beams)


def _can_share(event: Event, other: Event, beams: Beams) -> bool:
    if not isinstance(event, Sounding) or not isinstance(other, Sounding):
        return False
    if (event.onset, event.value) != (other.onset, other.value):
        return False
    is_single = not (_is_inside(event.id, beams) or event.tuplet or other.tuplet)
    heights = {note.pitch.staff_height for note in event.notes}
    return is_single and heights.isdisjoint(note.pitch.staff_height for note in other.notes)


def _is_inside(event_id: str, beams: Beams) -> bool:
    """Under a beam that goes on on both sides."""
    return any(event_id in group[1:-1] for group in beams)


def _without(event_id: str, beams: Beams) -> Beams:
    """The beams without an event; no beam is left over a single one."""
    shorter = (tuple(each for each in group if each != event_id) for group in beams)
    return tuple(group for group in shorter if len(group) > 1)


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
