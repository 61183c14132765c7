"""A Standard MIDI File to events in ticks, without trusting it.

Source: Standard MIDI Files 1.0: a delta time before each event; formats 0 and 1 hold one
piece; the division is ticks in a quarter, or frames of a film.
Conventions: ticks from the start; a note ends at the next ``note_off`` of its pitch on its
track and channel, or at the end of its track.
"""

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from io import BytesIO
from typing import Any

from mido import MidiFile, MidiTrack

from apoyando.model.errors import Problem, UnreadableSongError
from apoyando.model.pitch import MidiNote
from apoyando.reading.draft import MOST_NOTES

LARGEST_FILE_BYTES = 4_000_000
"""A piece for guitar has 0.02 MB."""
LONGEST_PIECE_QUARTERS = 20_000
PERCUSSION_CHANNEL = 9
"""Channel 10 of General MIDI Level 1; on the wire channels count from 0."""
_SEVERAL_PIECES = 2
"""Format 2 of Standard MIDI Files 1.0; there is none above it."""
_SAVE_AGAIN = "Save the piece again as a MIDI file, or bring it as MusicXML."


@dataclass(frozen=True, slots=True)
class Press:
    """A key held down from ``on`` to ``off``, in ticks."""

    note: MidiNote
    on: int
    off: int
    track: int
    channel: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Events:
    """What a file holds. Signatures and tempos come with their ticks, in order.

    ``names`` are the track names by track; meters are (beats, beat unit); ``words`` are
    syllables by tick and track.
    """

    ticks_per_quarter: int
    presses: tuple[Press, ...]
    end: int
    names: tuple[str, ...]
    programs: tuple[tuple[int, int, int], ...]
    meters: tuple[tuple[int, tuple[int, int]], ...]
    keys: tuple[tuple[int, str], ...]
    tempos: tuple[tuple[int, Fraction], ...]
    words: tuple[tuple[int, int, str], ...] = ()


def read_events(data: bytes, file_name: str) -> Events:
    """The events of a file. Raises UnreadableSongError if it is damaged, foreign or absurd."""
    if len(data) > LARGEST_FILE_BYTES:
        raise refuse(file_name, "The file is too large for a piece for guitar.")
    try:
        midi = MidiFile(file=BytesIO(data), clip=True, charset="latin-1")
    except Exception:  # noqa: BLE001 - mido raises whatever its parser stumbles over
        raise refuse(file_name, "The MIDI file is damaged or not complete.") from None
    if midi.type not in (0, 1):
        what = "holds several pieces at once (format 2)" if midi.type == _SEVERAL_PIECES else "is damaged"
        raise refuse(file_name, f"The MIDI file {what}.")
    if midi.ticks_per_beat <= 0:
        raise refuse(file_name, "The MIDI file counts frames of a film instead of quarter notes.")
    events = _gather(midi)
    if len(events.presses) > MOST_NOTES or events.end > LONGEST_PIECE_QUARTERS * midi.ticks_per_beat:
        raise refuse(file_name, "The piece is absurdly long.")
    return events


def refuse(file_name: str, what: str) -> UnreadableSongError:
    return UnreadableSongError(file_name, (Problem("", what, _SAVE_AGAIN),))


def _gather(midi: MidiFile) -> Events:
    timed = [
        (tick, track, message)
        for track, messages in enumerate(midi.tracks)
        for tick, message in _timed(messages)
    ]
    timed.sort(key=lambda item: item[0])
    presses = tuple(
        press for track, messages in enumerate(midi.tracks) for press in _presses(track, messages)
    )
    return Events(
        ticks_per_quarter=midi.ticks_per_beat,
        presses=tuple(sorted(presses, key=lambda press: (press.on, -press.note))),
        end=max((press.off for press in presses), default=0),
        names=tuple(_name(messages) for messages in midi.tracks),
        programs=tuple(
            (track, message.channel, message.program)
            for _, track, message in timed
            if message.type == "program_change"
        ),
        meters=tuple(
            (tick, (message.numerator, message.denominator))
            for tick, _, message in timed
            if message.type == "time_signature" and message.numerator > 0
        ),
        keys=tuple((tick, message.key) for tick, _, message in timed if message.type == "key_signature"),
        tempos=tuple(
            (tick, Fraction(60_000_000, message.tempo))
            for tick, _, message in timed
            if message.type == "set_tempo" and message.tempo > 0
        ),
        words=tuple(
            (tick, track, _decode(message.text)) for tick, track, message in timed if message.type == "lyrics"
        ),
    )


def _timed(messages: MidiTrack) -> Iterator[tuple[int, Any]]:
    now = 0
    for message in messages:
        now += max(int(message.time), 0)
        yield now, message


def _decode(text: str) -> str:
    """A file's bytes were read as Latin-1; most programs write UTF-8."""
    try:
        return text.encode("latin-1").decode("utf-8")
    except UnicodeError:
        return text


def _name(messages: MidiTrack) -> str:
    """As a terminal and a page can show it, without control characters."""
    name = next((_decode(m.name) for m in messages if m.type == "track_name"), "")
    return "".join(sign for sign in " ".join(name.split()) if sign.isprintable())


def _presses(track: int, messages: MidiTrack) -> Iterator[Press]:
    """A key that is pressed again while it is down ends and begins anew; percussion has no pitch."""
    down: defaultdict[tuple[int, int], list[int]] = defaultdict(list)
    now = 0
    for now, message in _timed(messages):
        if message.type not in ("note_on", "note_off") or message.channel == PERCUSSION_CHANNEL:
            continue
        key = (message.channel, message.note)
        yield from (_press(key, on, now, track) for on in down.pop(key, ()) if on < now)
        if message.type == "note_on" and message.velocity > 0:
            down[key].append(now)
    for key, onsets in down.items():
        yield from (_press(key, on, now, track) for on in onsets if on < now)


def _press(key: tuple[int, int], on: int, off: int, track: int) -> Press:
    channel, note = key
    return Press(MidiNote(note), on, off, track, channel)
