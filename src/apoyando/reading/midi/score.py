"""MIDI events to a ``Draft``: bars, values, voices and spellings, and a word on each guess.

What a MIDI file does not say is guessed, and the remarks say so: note values (see
``quantizing``), the voices of music that was played on one channel, the spelling of the
black keys, and meter and key where they are missing.
"""

from bisect import bisect_right
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import groupby
from pathlib import PurePath

from apoyando.model.pitch import Key, MidiNote, Mode, Pitch, PitchName, Step
from apoyando.model.song import Bar, Meter, ReadingRemark
from apoyando.model.time import Quarters, Span
from apoyando.reading.draft import MOST_BARS, Draft, DraftNote
from apoyando.reading.midi.events import Events, Press, read_events, refuse
from apoyando.reading.midi.quantizing import quantize

_GUITAR_PROGRAMS = range(24, 32)
"""Guitars of the General MIDI sound set; on the wire programs count from 0."""
_COMMON_TIME = Meter(4, 4)
_MOST_SIGNS = 7
_LOWEST_NAME, _NAMES = -3, 12
"""Chromatic tones are spelled from a minor third below the signature's tonic up the line of fifths, so
that raised sixth and seventh of the minor come out as sharps (common practice, no source)."""
_SCALE = range(-1, 6)
"""The seven notes of a signature on the line of fifths, counted from its major tonic."""


@dataclass(frozen=True, slots=True)
class PlayedLine:
    """A press with its written span and its voice."""

    press: Press
    span: Span
    voice: int


def draft_midi(data: bytes, file_name: str) -> Draft:
    """The draft of a Standard MIDI File as music for guitar. Raises UnreadableSongError."""
    events = read_events(data, file_name)
    presses, part_remarks = _choose_presses(events)
    lines, voice_remarks = _tell_voices(presses, quantize_presses(presses, events, file_name))
    return draft_lines(events, lines, (*part_remarks, *voice_remarks), file_name)


def quantize_presses(presses: Sequence[Press], events: Events, file_name: str) -> list[Span]:
    """The written spans of what was played. Raises UnreadableSongError where nothing was."""
    if not presses:
        raise refuse(file_name, "There are no notes in the file, only percussion or nothing.")
    return quantize(_played(press, events.ticks_per_quarter) for press in presses)


def draft_lines(events: Events, lines: Sequence[PlayedLine], remarks: Sequence[str], file_name: str) -> Draft:
    """The draft of what was played, its notes in the order given. Raises UnreadableSongError."""
    key, key_remarks = _choose_key(events, lines)
    bars, meter_remarks = _lay_bars(events, max(line.span.offset for line in lines))
    if len(bars) > MOST_BARS:
        raise refuse(file_name, "The piece is absurdly long.")
    texts = (
        *meter_remarks,
        *key_remarks,
        *remarks,
        *events.remarks,
        _VALUES_GUESSED,
        *_tempo_remarks(events),
    )
    return Draft(
        title=_title(events) or PurePath(file_name).stem,
        bars=tuple(_with_key(bar, key, events) for bar in bars),
        notes=tuple(_draft_note(line, key, events) for line in lines),
        chords=(),
        tempo_quarters_per_minute=events.tempos[0][1].limit_denominator(100) if events.tempos else None,
        remarks=tuple(ReadingRemark("", text) for text in texts),
    )


_VALUES_GUESSED = "MIDI has no note values: they are read from how long the keys were down."


def _played(press: Press, ticks_per_quarter: int) -> Span:
    return Span(Fraction(press.on, ticks_per_quarter), Fraction(press.off, ticks_per_quarter))


def _title(events: Events) -> str:
    """The first track names the piece if it has no notes, else an instrument (MIDI 1.0, FF 03)."""
    has_notes = any(press.track == 0 for press in events.presses)
    return "" if has_notes or not events.names else events.names[0]


# --- parts and voices ----------------------------------------------------------------


def _choose_presses(events: Events) -> tuple[tuple[Press, ...], tuple[str, ...]]:
    """All parts that sound as guitars; where none does, all parts."""
    guitars = {(track, channel) for track, channel, program in events.programs if program in _GUITAR_PROGRAMS}
    chosen = tuple(press for press in events.presses if (press.track, press.channel) in guitars)
    left_out = len(events.presses) - len(chosen)
    if not chosen or not left_out:
        return events.presses, ()
    return chosen, (f"Only the parts that sound as guitars are read; {left_out} other notes are left out.",)


def _tell_voices(
    presses: Sequence[Press], spans: Sequence[Span]
) -> tuple[tuple[PlayedLine, ...], tuple[str, ...]]:
    """A voice for each channel of each track; all on one channel is told apart by pitch."""
    parts = sorted({(press.track, press.channel) for press in presses})
    if len(parts) > 1:
        numbers = {part: number for number, part in enumerate(parts, 1)}
        voices = [numbers[press.track, press.channel] for press in presses]
        remark = f"Each of the {len(parts)} tracks or channels is read as a voice."
    else:
        voices = split_voices(presses, spans)
        remark = "All notes are on one channel: top line, bass and inner notes are told apart by pitch."
    lines = tuple(map(PlayedLine, presses, spans, voices))
    return lines, (remark,) if len(set(voices)) > 1 or len(parts) > 1 else ()


TOP, BASS, INNER = 1, 2, 3


def split_voices(presses: Sequence[Press], spans: Sequence[Span]) -> list[int]:
    """Top line: nothing higher sounds when the note begins. Bass: something does, and nothing lower."""
    sounding: list[tuple[Quarters, MidiNote]] = []
    voices: list[int] = []
    pairs = list(zip(presses, spans, strict=True))
    for onset, group in groupby(pairs, key=lambda pair: pair[1].onset):
        struck = list(group)
        sounding = [held for held in sounding if held[0] > onset]
        sounding += [(span.offset, press.note) for press, span in struck]
        notes = [note for _, note in sounding]
        voices += [_voice(press.note, min(notes), max(notes)) for press, _ in struck]
    return voices


def _voice(note: MidiNote, lowest: int, highest: int) -> int:
    if note == highest:
        return TOP
    return BASS if note == lowest else INNER


# --- bars ----------------------------------------------------------------------------


def _lay_bars(events: Events, end: Quarters) -> tuple[list[Bar], tuple[str, ...]]:
    """Bars from the meters of the file, until all notes have ended."""
    meters = [
        (Fraction(tick, events.ticks_per_quarter), Meter(beats, unit))
        for tick, (beats, unit) in events.meters
    ]
    remark = "The file names no meter: read as 4/4."
    changes = meters or [(Fraction(0), _COMMON_TIME)]
    bars: list[Bar] = []
    onset = Fraction(0)
    while onset < end and len(bars) <= MOST_BARS:
        meter = _in_force(changes, onset, _COMMON_TIME)
        span = Span(onset, onset + meter.bar_length)
        bars.append(Bar(index=len(bars), number="", span=span, meter=meter, key=Key(0)))
        onset = span.offset
    return _with_pickup(bars), () if meters else (remark,)


def _in_force(changes: Sequence[tuple[Quarters, Meter]], moment: Quarters, otherwise: Meter) -> Meter:
    """The last change at or before a moment."""
    place = bisect_right([onset for onset, _ in changes], moment)
    return changes[place - 1][1] if place else otherwise


def _with_pickup(bars: list[Bar]) -> list[Bar]:
    """A first bar in a shorter meter of its own is a pickup in the meter of the second."""
    if len(bars) < 2 or bars[0].meter.bar_length >= bars[1].meter.bar_length:  # noqa: PLR2004 - a pair
        return bars
    return [replace(bars[0], meter=bars[1].meter), *bars[1:]]


# --- keys and spelling ---------------------------------------------------------------


def _choose_key(events: Events, lines: Iterable[PlayedLine]) -> tuple[Key, tuple[str, ...]]:
    """The first key that the file names; else the signature that takes in most of the notes."""
    if events.keys:
        return _read_key(events.keys[0][1]), ()
    key = _guess_key(list(lines))
    return key, (f"The file names no key: read as {key}.",)


def _read_key(text: str) -> Key:
    """A tonic, with m for minor."""
    is_minor = text.endswith("m")
    tonic = text.removesuffix("m")
    name = PitchName(Step(tonic[0]), tonic.count("#") - tonic[1:].count("b"))
    return Key(name.fifths - 3, Mode.MINOR) if is_minor else Key(name.fifths)


def _guess_key(lines: Sequence[PlayedLine]) -> Key:
    def outside(fifths: int) -> tuple[Quarters, int]:
        scale = {PitchName.from_fifths(fifths + place).pitch_class for place in _SCALE}
        lengths = (line.span.duration for line in lines if line.press.note % 12 not in scale)
        return sum(lengths, Fraction(0)), abs(fifths)

    fifths = min(range(-_MOST_SIGNS + 1, _MOST_SIGNS), key=outside)
    last = max(line.span.offset for line in lines)
    lowest = min(line.press.note for line in lines if line.span.offset == last)
    minor = Key(fifths, Mode.MINOR)
    return minor if lowest % 12 == minor.tonic.pitch_class else Key(fifths)


def _with_key(bar: Bar, first: Key, events: Events) -> Bar:
    return replace(bar, key=_key_at(bar.onset, first, events))


def _key_at(moment: Quarters, first: Key, events: Events) -> Key:
    changes = [(Fraction(tick, events.ticks_per_quarter), text) for tick, text in events.keys]
    place = bisect_right([onset for onset, _ in changes], moment)
    return _read_key(changes[place - 1][1]) if place else first


def _draft_note(line: PlayedLine, first: Key, events: Events) -> DraftNote:
    key = _key_at(line.span.onset, first, events)
    return DraftNote(
        onset=line.span.onset,
        duration=line.span.duration,
        pitch=_spell(line.press.note, key),
        voice=str(line.voice),
    )


def _spell(note: MidiNote, key: Key) -> Pitch:
    lowest = key.fifths + _LOWEST_NAME
    fifths = lowest + (7 * note - lowest) % _NAMES
    return Pitch.at(PitchName.from_fifths(fifths), note)


def _tempo_remarks(events: Events) -> Iterator[str]:
    if len({tempo for _, tempo in events.tempos}) > 1:
        yield "Changes of tempo are not carried over."
