"""The player's own notes of the tune in place of those that were read."""

from collections.abc import Iterator, Sequence
from dataclasses import replace

from apoyando.model.beat import count_beat, name_count
from apoyando.model.errors import UsageError
from apoyando.model.plan import NoteChange
from apoyando.model.song import MelodyNote, ReadingRemark, Song, bar_at
from apoyando.model.time import Quarters, Span
from apoyando.reading.named_places import place_changes

Line = tuple[MelodyNote, ...]


def change_notes(song: Song, changes: Sequence[NoteChange]) -> Song:
    """The song with each note as the player would have it; the form, the harmony and the words stay.

    A note that is made longer takes its time from those that follow, one that is new from the
    note that it falls into; one that is made shorter leaves a rest. Syllables that lose their
    note are told in the remarks. Raises UsageError for a change that cannot be meant.
    """
    line, lost = song.melody, list[MelodyNote]()
    for moment, change in place_changes(song, changes, "note"):
        before, line = line, _change(song, line, moment, change)
        lost += _dropped(before, line, moment)
    if not line:
        raise UsageError("the notes of the plan leave nothing of the tune. Take one out.")
    return replace(song, melody=line, remarks=(*song.remarks, *_tell_lost(song, lost)))


def _change(song: Song, line: Line, moment: Quarters, change: NoteChange) -> Line:
    struck = next((note for note in line if note.onset == moment), None)
    if struck is None and change.pitch is None:
        raise UsageError(_tell_nothing_there(song, line, moment, change))
    if change.is_rest:
        return tuple(note for note in line if note.onset != moment)
    end = moment + (change.length or _usual_length(song, line, moment))
    if end > song.duration:
        raise UsageError(
            f'the note "{change}" cannot be meant: it is longer than the song. Write a shorter one.'
        )
    note = struck or MelodyNote(span=Span(moment, end), pitch=change.pitch or line[0].pitch)
    changed = replace(note, span=Span(moment, end), pitch=change.pitch or note.pitch)
    return (*_up_to(line, moment), changed, *_from(line, moment, end))


def _dropped(before: Line, after: Line, moment: Quarters) -> Iterator[MelodyNote]:
    """Of the notes from a moment on those that are not there any more, neither whole nor shortened."""
    ends = {note.offset for note in after if note.onset > moment}
    is_struck = any(note.onset == moment for note in after)
    for note in before:
        if (note.onset == moment and not is_struck) or (note.onset > moment and note.offset not in ends):
            yield note


def _usual_length(song: Song, line: Line, moment: Quarters) -> Quarters:
    """What is left of the note that sounds there; else up to the next note or the barline."""
    sounding = next((note for note in line if note.span.contains(moment)), None)
    if sounding:
        return sounding.offset - moment
    later = [note.onset for note in line if note.onset > moment]
    return min((bar_at(song.bars, moment).offset, *later)) - moment


def _up_to(line: Line, moment: Quarters) -> Iterator[MelodyNote]:
    for note in line:
        if note.onset < moment:
            yield replace(note, span=Span(note.onset, min(note.offset, moment)))


def _from(line: Line, moment: Quarters, end: Quarters) -> Iterator[MelodyNote]:
    """What follows, without the time up to ``end``."""
    for note in line:
        if note.onset > moment and note.offset > end:
            yield replace(note, span=Span(max(note.onset, end), note.offset))


def _tell_nothing_there(song: Song, line: Line, moment: Quarters, change: NoteChange) -> str:
    bar = bar_at(song.bars, moment)
    beats = [name_count(count_beat(bar, note.onset)) for note in line if bar.span.contains(note.onset)]
    there = f"there they begin on beats {', '.join(beats)}" if beats else "none begins in this bar"
    return (
        f'the note "{change}" cannot be meant: no note begins there; {there}. '
        "Name another beat, or write a pitch for a new note."
    )


def _tell_lost(song: Song, lost: Sequence[MelodyNote]) -> Iterator[ReadingRemark]:
    """Words whose note is not there any more."""
    for note in lost:
        for lyric in note.lyrics:
            text = f"The syllable “{lyric.text}” has lost its note."
            yield ReadingRemark(bar_at(song.bars, note.onset).number, text)
