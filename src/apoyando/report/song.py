"""What was understood of a song, bar by bar."""

from collections.abc import Iterator

from apoyando.model.beat import count_beat
from apoyando.model.harmony import ChordOrigin, HarmonySpan, chord_tones
from apoyando.model.song import Bar, Jump, MelodyNote, Song
from apoyando.model.time import Quarters
from apoyando.report.entries import Entry, describe_remarks, describe_source, name_chord


def describe_song(song: Song) -> Entry:
    """What was understood, bar by bar."""
    tempo = song.tempo_quarters_per_minute
    return {
        "title": song.title,
        "composer": song.composer,
        "lyricist": song.lyricist,
        "rights": song.rights,
        "key": str(song.key),
        "meter": str(song.bars[0].meter),
        "tempo_quarters_per_minute": None if tempo is None else str(tempo),
        "tempo_words": song.tempo_words,
        "melody_from": describe_source(song),
        "chords_found": any(span.origin is ChordOrigin.FOUND for span in song.harmony),
        "bars": [_describe_bar(song, bar) for bar in song.bars],
        "remarks": describe_remarks(song),
    }


def _describe_bar(song: Song, bar: Bar) -> Entry:
    return {
        "bar": bar.number,
        "meter": str(bar.meter),
        "key": str(bar.key),
        "length_quarters": str(bar.span.duration),
        "section": bar.section,
        "form": _form_marks(bar),
        "chords": [_describe_chord(bar, span) for span in song.harmony if span.span.overlaps(bar.span)],
        "melody": list(_describe_line(song, bar)),
    }


def _describe_chord(bar: Bar, harmony: HarmonySpan) -> Entry:
    chord = harmony.chord
    return {
        "beat": str(count_beat(bar, max(harmony.onset, bar.onset))),
        **name_chord(harmony),
        "written": chord.text if chord else "",
        "tones": [str(tone.name) for tone in chord_tones(chord)] if chord else [],
        "from_before": harmony.onset < bar.onset,
    }


def _describe_line(song: Song, bar: Bar) -> Iterator[Entry]:
    """The notes and rests that fill the bar."""
    reached = bar.onset
    for note in song.melody:
        if note.span.overlaps(bar.span):
            if reached < note.onset:
                yield _describe_rest(bar, reached, note.onset)
            yield _describe_note(bar, note)
            reached = note.offset
    if reached < bar.offset:
        yield _describe_rest(bar, reached, bar.offset)


def _describe_note(bar: Bar, note: MelodyNote) -> Entry:
    """The part of a note that lies in the bar; its words where it begins."""
    onset, offset = max(note.onset, bar.onset), min(note.offset, bar.offset)
    begins_here = onset == note.onset
    return {
        "beat": str(count_beat(bar, onset)),
        "pitch": str(note.pitch),
        "quarters": str(offset - onset),
        "from_before": not begins_here,
        "lyrics": [lyric.text for lyric in note.lyrics] if begins_here else [],
    }


def _describe_rest(bar: Bar, onset: Quarters, offset: Quarters) -> Entry:
    return {
        "beat": str(count_beat(bar, onset)),
        "pitch": None,
        "quarters": str(offset - onset),
        "from_before": False,
        "lyrics": [],
    }


def _form_marks(bar: Bar) -> list[str]:
    at_start = [str(jump) for jump in bar.jumps if jump in (Jump.SEGNO, Jump.CODA)]
    at_end = [str(jump) for jump in bar.jumps if jump not in (Jump.SEGNO, Jump.CODA)]
    return [
        *(["pickup"] if bar.is_pickup else []),
        *at_start,
        *(["repeat from here"] if bar.starts_repeat else []),
        *([f"ending {', '.join(map(str, bar.endings))}"] if bar.endings else []),
        *([f"played {bar.repeat_times} times"] if bar.repeat_times else []),
        *(["repeated after the jump too"] if bar.repeats_after_jump else []),
        *([bar.jump_words] if at_end and bar.jump_words else at_end),
    ]
