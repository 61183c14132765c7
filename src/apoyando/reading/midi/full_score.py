"""A MIDI file of any number of tracks to a ``Draft`` of all of them, and the lines that they make."""

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import groupby

from apoyando.model.song import Lyric
from apoyando.model.time import Span
from apoyando.reading.draft import Draft, DraftNote
from apoyando.reading.lines import TOP_LINE, FullDraft, Line, top_line
from apoyando.reading.midi.events import Events, Press, read_events
from apoyando.reading.midi.score import PlayedLine, draft_lines, quantize_presses, split_voices

_SINGLE = 0.9
"""Where so many of the moments strike one note, a part is one line, however its notes overlap."""
_VOICES_OF_A_PART = 4
"""A part's voices are numbered from this times its place: 0 where it is one line, else top, bass and inner."""

_Part = tuple[int, int]
"""A channel of a track."""


def draft_full_midi(data: bytes, file_name: str) -> FullDraft:
    """The draft of a Standard MIDI File, all tracks but percussion. Raises UnreadableSongError."""
    events = read_events(data, file_name)
    spans = quantize_presses(events.presses, events, file_name)
    parts = _part_by_part(events.presses, spans)
    played = [line for place, part in enumerate(parts.values()) for line in _play(place, part)]
    words = {(press_track, tick): text for tick, press_track, text in events.words}
    draft = draft_lines(events, played, _remark_on_words(events), file_name)
    notes = tuple(
        replace(note, lyrics=_syllable(words, line.press))
        for note, line in zip(draft.notes, played, strict=True)
    )
    draft = replace(draft, notes=notes)
    return FullDraft(draft, tuple(_lines(draft, _name_parts(tuple(parts), events))))


def _part_by_part(
    presses: Sequence[Press], spans: Sequence[Span]
) -> Mapping[_Part, list[tuple[Press, Span]]]:
    """The presses of each channel of each track, in order."""
    parts: defaultdict[_Part, list[tuple[Press, Span]]] = defaultdict(list)
    for press, span in zip(presses, spans, strict=True):
        parts[press.track, press.channel].append((press, span))
    return dict(sorted(parts.items()))


def _play(place: int, part: Sequence[tuple[Press, Span]]) -> Iterator[PlayedLine]:
    presses, spans = [press for press, _ in part], [span for _, span in part]
    moments = [len(list(group)) for _, group in groupby(spans, key=lambda span: span.onset)]
    is_single = sum(count == 1 for count in moments) >= _SINGLE * len(moments)
    voices = [0] * len(part) if is_single else split_voices(presses, spans)
    for press, span, voice in zip(presses, spans, voices, strict=True):
        yield PlayedLine(press, span, _VOICES_OF_A_PART * place + voice)


def _name_parts(parts: Sequence[_Part], events: Events) -> list[str]:
    """Each part by a name of its own: the track's, with its channel where the track has several."""
    names: list[str] = []
    for track, channel in parts:
        name = events.names[track] or f"track {track + 1}"
        is_shared = sum(other == track for other, _ in parts) > 1
        names.append(f"{name}, channel {channel + 1}" if is_shared else name)
    return [f"{name} ({place})" if names.count(name) > 1 else name for place, name in enumerate(names, 1)]


def _lines(draft: Draft, names: Sequence[str]) -> Iterator[Line]:
    """The top line of each part, and that of all of them."""
    by_part: defaultdict[int, list[DraftNote]] = defaultdict(list)
    for note in draft.notes:
        by_part[int(note.voice) // _VOICES_OF_A_PART].append(note)
    for place, name in enumerate(names):
        yield Line(name, top_line(by_part[place]))
    if len(names) > 1:
        yield Line(TOP_LINE, top_line(draft.notes), is_whole=False)


def _syllable(words: Mapping[tuple[int, int], str], press: Press) -> tuple[Lyric, ...]:
    """What is sung on a note; a hyphen at its end says that the word goes on (MIDI RP-017)."""
    text = " ".join(words.get((press.track, press.on), "").split())
    syllabic = "begin" if text.endswith("-") else "single"
    return (Lyric(1, text.removesuffix("-"), syllabic),) if text.removesuffix("-") else ()


def _remark_on_words(events: Events) -> tuple[str, ...]:
    """Words that stand where no note begins are lost."""
    struck = {(press.track, press.on) for press in events.presses}
    lost = sum((track, tick) not in struck for tick, track, text in events.words if text.strip())
    return (f"{lost} words of the file stand over no note and are left out.",) if lost else ()
