"""A Standard MIDI File, bare or in a RIFF form, to events in ticks, without trusting it.

Source: Standard MIDI Files 1.0: a delta time before each event; formats 0 and 1 hold one
piece; the division is ticks in a quarter, or frames of a film.
Conventions: ticks from the start; a note ends at the ``note_off`` of its pitch on its
track and channel, or at the end of its track.
"""

import re
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from fractions import Fraction
from io import BytesIO
from itertools import pairwise
from typing import Any

from mido import KeySignatureError, MidiFile, MidiTrack

from apoyando.model.errors import Problem, UnreadableSongError
from apoyando.model.pitch import MidiNote
from apoyando.reading.draft import MOST_NOTES, is_meter, plausible_tempo, tell_odd_tempo
from apoyando.reading.midi.riff import take_midi_out

LARGEST_FILE_BYTES = 4_000_000
"""A piece for guitar has 0.02 MB."""
LONGEST_PIECE_QUARTERS = 20_000
LONGEST_WAIT_QUARTERS = 1_000
"""Eight minutes at 120: one wrong byte in a delta time makes thousands of empty bars."""
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
    syllables by tick and track; ``remarks`` tell what cannot be meant and is left out.
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
    remarks: tuple[str, ...] = ()


def read_events(data: bytes, file_name: str) -> Events:
    """The events of a file. Raises UnreadableSongError if it is damaged, foreign or absurd."""
    if len(data) > LARGEST_FILE_BYTES:
        raise refuse(file_name, "The file is too large for a piece for guitar.")
    try:
        midi, odd_keys = _parse(take_midi_out(data))
    except Exception:  # noqa: BLE001 - mido raises whatever its parser stumbles over
        raise refuse(file_name, "The MIDI file is damaged or not complete.") from None
    if midi.type not in (0, 1):
        what = "holds several pieces at once (format 2)" if midi.type == _SEVERAL_PIECES else "is damaged"
        raise refuse(file_name, f"The MIDI file {what}.")
    if midi.ticks_per_beat == 0:
        raise refuse(file_name, "The MIDI file is damaged: a quarter note has no time.")
    if midi.ticks_per_beat < 0:
        raise refuse(file_name, "The MIDI file counts frames of a film instead of quarter notes.")
    events = _gather(midi, odd_keys)
    if len(events.presses) > MOST_NOTES or events.end > LONGEST_PIECE_QUARTERS * midi.ticks_per_beat:
        raise refuse(file_name, "The piece is absurdly long.")
    wait = _longest_wait(events.presses) // midi.ticks_per_beat
    if wait > LONGEST_WAIT_QUARTERS:
        raise refuse(file_name, f"The MIDI file is damaged: nothing is struck for {wait} quarters in it.")
    return events


def _longest_wait(presses: Iterable[Press]) -> int:
    """In ticks, in which no key goes down; ``presses`` in order."""
    moments = [0, *(press.on for press in presses)]
    return max((later - one for one, later in pairwise(moments)), default=0)


def refuse(file_name: str, what: str) -> UnreadableSongError:
    return UnreadableSongError(file_name, (Problem("", what, _SAVE_AGAIN),))


def _parse(data: bytes) -> tuple[MidiFile, int]:
    """The file, and how many of its key signatures there are not. The library refuses the whole
    file for one of them, so it is given them as words of some maker's own, which nobody reads.
    """
    try:
        return _parse_whole(data), 0
    except KeySignatureError:
        mended, count = _ODD_KEY.subn(b"\xff\x7f\x02\\1", data)
        return _parse_whole(mended), count


def _parse_whole(data: bytes) -> MidiFile:
    return MidiFile(file=BytesIO(data), clip=True, charset="latin-1")


_ODD_KEY = re.compile(rb"\xff\x59\x02(?![\xf9-\xff\x00-\x07][\x00\x01])(..)", re.DOTALL)
"""FF 59 02 sf mi with more than seven flats or sharps, or neither major nor minor (MIDI 1.0)."""


def _gather(midi: MidiFile, odd_keys: int) -> Events:
    timed = [
        (tick, track, message)
        for track, messages in enumerate(midi.tracks)
        for tick, message in _timed(messages)
    ]
    timed.sort(key=lambda item: item[0])
    meters = [
        (tick, (message.numerator, message.denominator))
        for tick, _, message in timed
        if message.type == "time_signature"
    ]
    tempos = [
        (tick, Fraction(60_000_000, message.tempo) if message.tempo else Fraction(0))
        for tick, _, message in timed
        if message.type == "set_tempo"
    ]
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
        meters=tuple((tick, meter) for tick, meter in meters if is_meter(*meter)),
        keys=tuple((tick, message.key) for tick, _, message in timed if message.type == "key_signature"),
        tempos=tuple((tick, tempo) for tick, tempo in tempos if plausible_tempo(tempo)),
        words=tuple(
            (tick, track, _decode(message.text)) for tick, track, message in timed if message.type == "lyrics"
        ),
        remarks=tuple(dict.fromkeys(_tell_odd(odd_keys, meters, tempos))),
    )


def _tell_odd(
    odd_keys: int, meters: Iterable[tuple[int, tuple[int, int]]], tempos: Iterable[tuple[int, Fraction]]
) -> Iterator[str]:
    if odd_keys:
        yield "A key signature of the file cannot be meant and is left out."
    for _, (beats, unit) in meters:
        if not is_meter(beats, unit):
            yield f"The meter {beats}/{unit} cannot be meant and is left out."
    for _, tempo in tempos:
        if not plausible_tempo(tempo):
            yield tell_odd_tempo(f"{float(tempo):.4g}")


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
    """A key that is pressed again while it is down ends and begins anew; percussion has no pitch.

    Where each press of a key has its release, the first release is that of the first press: many
    programs write a note that is struck again before the release of the one before it.
    """
    changes = list(_changes(messages))
    count = Counter((key, is_pressed) for _, key, is_pressed in changes)
    down: dict[tuple[int, int], int] = {}
    owed: Counter[tuple[int, int]] = Counter()
    for now, key, is_pressed in changes:
        if not is_pressed and owed[key]:
            owed[key] -= 1
            continue
        on = down.pop(key, None)
        if on is not None and on < now:
            yield _press(key, on, now, track)
        if is_pressed:
            owed[key] += on is not None and count[key, True] == count[key, False]
            down[key] = now
    end = max((tick for tick, _ in _timed(messages)), default=0)
    yield from (_press(key, on, end, track) for key, on in down.items() if on < end)


def _changes(messages: MidiTrack) -> Iterator[tuple[int, tuple[int, int], bool]]:
    """When which key, of which channel, is pressed (True) or let go."""
    for now, message in _timed(messages):
        if message.type in ("note_on", "note_off") and message.channel != PERCUSSION_CHANNEL:
            yield now, (message.channel, message.note), message.type == "note_on" and message.velocity > 0


def _press(key: tuple[int, int], on: int, off: int, track: int) -> Press:
    channel, note = key
    return Press(MidiNote(note), on, off, track, channel)
