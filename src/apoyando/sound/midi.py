"""Standard MIDI File, format 1 (MIDI 1.0; General MIDI Level 1 sound set).

Three tracks: the conductor's (title, tempo, meters, keys), the melody and the
accompaniment, each on a channel of its own, so that a player can turn one of them down; and
a fourth for the clicks of a take that has some. Repeats and jumps are played out. The tempo is
even: fermatas are not stretched.
"""

from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from io import BytesIO
from itertools import groupby, pairwise
from math import lcm
from typing import Any

from mido import Message, MetaMessage, MidiFile, MidiTrack

from apoyando.model.arrangement import Arrangement, Role
from apoyando.model.pitch import Key, Mode, PitchName
from apoyando.model.song import Bar
from apoyando.model.time import Quarters, Span
from apoyando.sound.performance import PlayedBar, PlayedNote, perform
from apoyando.sound.takes import Beat, Take

NYLON_GUITAR = 24
"""Acoustic Guitar (nylon) is number 25 of the GM Level 1 sound set, which counts from 1; the wire from 0."""

VELOCITIES = {Role.MELODY: 96, Role.BASS: 58, Role.INNER: 48}
"""The melody clearly louder, the bass a little louder than the inner voice (an estimate, no source)."""

PERCUSSION = 9
FIRST_CLICK, OTHER_CLICK, CLICK_VELOCITY = 76, 77, 90
"""High and low wood block on channel 10, which the wire counts from 0 (GM Level 1 percussion map)."""
CLICK_LENGTH = Fraction(1, 8)

BASE_TICKS = 480
MOST_TICKS = 0x7FFF
"""Ticks in a quarter: 15 bits in the file's head."""
SLOWEST_TEMPO_US = 0xFFFFFF
"""Microseconds in a quarter: 24 bits in the tempo event."""
FINEST_BEAT_UNIT = 64
MOST_BEATS = 255
MOST_SIGNS = 7
HIGHEST_NOTE = 127


@dataclass(frozen=True, slots=True)
class Clock:
    ticks_per_quarter: int

    def tick(self, position: Quarters) -> int:
        return round(position * self.ticks_per_quarter)


@dataclass(frozen=True, slots=True)
class _Key:
    """One key held down: from ``on`` to ``off``, in ticks."""

    note: int
    on: int
    off: int
    velocity: int


def write_midi(
    arrangement: Arrangement,
    take: Take | None = None,
    roles: Collection[Role] = frozenset(Role),
    speed: Fraction = Fraction(1),
) -> bytes:
    """The arrangement as it sounds (with a capo: higher than it is fingered). Same input, same bytes.

    ``take`` is the whole piece once where it is None; a voice of which no role is wanted has no
    track; ``speed`` is a factor of the tempo.
    """
    take = take or Take(perform(arrangement))
    clock = choose_clock(take)
    end = clock.tick(take.duration)
    tracks = [_conductor(arrangement, take, clock, speed)]
    for channel, (name, own) in enumerate(_PARTS.items()):
        if own & set(roles):
            played = [each for each in take.performance.notes if each.note.role in own & set(roles)]
            tracks.append(_part(name, channel, _keys(played, arrangement.capo, clock)))
    if take.clicks:
        tracks.append(_click_part(take.clicks, clock))
    return _file([_track(timed, end) for timed in tracks], clock.ticks_per_quarter)


_PARTS = {"melody": {Role.MELODY}, "accompaniment": {Role.BASS, Role.INNER}}


def _file(tracks: Sequence[MidiTrack], ticks_per_quarter: int) -> bytes:
    stream = BytesIO()
    midi = MidiFile(type=1, ticks_per_beat=ticks_per_quarter, charset="utf-8")
    midi.tracks.extend(tracks)
    midi.save(file=stream)
    return stream.getvalue()


def choose_clock(take: Take) -> Clock:
    """Ticks in which every note falls exactly; rounded only where the file format has too few."""
    performance = take.performance
    ends = (end for played in performance.notes for end in (played.span.onset, played.span.offset))
    bars = (played.onset for played in performance.bars)
    clicks = (beat.onset for beat in take.clicks)
    denominators = {position.denominator for position in (*ends, *bars, *clicks, take.duration)}
    ticks = lcm(BASE_TICKS, *denominators)
    return Clock(ticks if ticks <= MOST_TICKS else BASE_TICKS * (MOST_TICKS // BASE_TICKS))


# --- tracks --------------------------------------------------------------------------

_Timed = tuple[int, Any]
"""A message and its tick."""


def _track(timed: Iterable[_Timed], end: int) -> MidiTrack:
    """Messages in the order given, each with the ticks since the one before."""
    listed = sorted(timed, key=lambda pair: pair[0])
    ticks = [tick for tick, _ in listed]
    deltas = (after - before for before, after in pairwise([0, *ticks]))
    track = MidiTrack(message.copy(time=delta) for delta, (_, message) in zip(deltas, listed, strict=True))
    track.append(MetaMessage("end_of_track", time=max(end - max(ticks, default=0), 0)))
    return track


def _conductor(arrangement: Arrangement, take: Take, clock: Clock, speed: Fraction) -> Iterator[_Timed]:
    yield 0, MetaMessage("track_name", name=arrangement.title)
    yield 0, MetaMessage("set_tempo", tempo=_tempo(arrangement.tempo_quarters_per_minute * speed))
    signatures: Sequence[Any] = ()
    for played in _barred(take):
        now = _signatures(played.bar, arrangement.capo)
        yield from ((clock.tick(played.onset), message) for message in now if message not in signatures)
        signatures = now


def _barred(take: Take) -> Iterator[PlayedBar]:
    """The bars; a count-in is part of the first, which a pickup then fills up to its meter."""
    first, *others = take.performance.bars
    if take.music_onset:
        bar = first.bar
        first = PlayedBar(replace(bar, span=Span(bar.onset, bar.onset + bar.meter.bar_length)), Quarters(0))
    yield first
    yield from others


def _tempo(quarters_per_minute: Fraction) -> int:
    return min(round(60_000_000 / quarters_per_minute), SLOWEST_TEMPO_US)


def _signatures(bar: Bar, capo: int) -> tuple[Any, Any]:
    beats, beat_unit = _sounding_meter(bar)
    return (
        MetaMessage("time_signature", numerator=beats, denominator=beat_unit),
        MetaMessage("key_signature", key=_sounding_key(bar.key, capo)),
    )


def _sounding_meter(bar: Bar) -> tuple[int, int]:
    """A bar that is shorter or longer than its meter (a pickup) gets a meter of its own length.

    Otherwise every barline after it would fall in the wrong place.
    """
    if bar.span.duration == bar.meter.bar_length:
        return bar.meter.beats, bar.meter.beat_unit
    length, beat_unit = bar.span.duration / 4, bar.meter.beat_unit
    while (length * beat_unit).denominator > 1 and beat_unit < FINEST_BEAT_UNIT:
        beat_unit *= 2
    beats = length * beat_unit
    is_sayable = beats.denominator == 1 and beats <= MOST_BEATS
    return (int(beats), beat_unit) if is_sayable else (bar.meter.beats, bar.meter.beat_unit)


def _sounding_key(key: Key, capo: int) -> str:
    """The key that is heard, as the file format can say it: major or minor, at most seven signs."""
    signs = max(-MOST_SIGNS, min(MOST_SIGNS, key.fifths))
    if capo:
        signs = (signs + 7 * capo + 5) % 12 - 5
    if key.mode in {Mode.MINOR, Mode.AEOLIAN}:
        return f"{PitchName.from_fifths(signs + 3)}m"
    return str(PitchName.from_fifths(signs))


def _part(name: str, channel: int, keys: Sequence[_Key]) -> Iterator[_Timed]:
    yield 0, MetaMessage("track_name", name=name)
    yield 0, Message("program_change", channel=channel, program=NYLON_GUITAR)
    # What ends comes before what begins at the same tick, so that a repeated note is struck again.
    for key in keys:
        yield key.off, Message("note_off", channel=channel, note=key.note, velocity=0)
    for key in keys:
        yield key.on, Message("note_on", channel=channel, note=key.note, velocity=key.velocity)


def _click_part(clicks: Sequence[Beat], clock: Clock) -> Iterator[_Timed]:
    yield 0, MetaMessage("track_name", name="clicks")
    for beat in clicks:
        note = FIRST_CLICK if beat.is_first else OTHER_CLICK
        on, off = clock.tick(beat.onset), clock.tick(beat.onset + CLICK_LENGTH)
        yield on, Message("note_on", channel=PERCUSSION, note=note, velocity=CLICK_VELOCITY)
        yield off, Message("note_off", channel=PERCUSSION, note=note, velocity=0)


# --- keys ----------------------------------------------------------------------------


def _keys(notes: Sequence[PlayedNote], capo: int, clock: Clock) -> list[_Key]:
    """One key cannot be down twice: the same pitch on two strings is struck anew, and held to the last end."""
    keys = sorted(
        (_key(played, capo, clock) for played in notes), key=lambda key: (key.note, key.on, key.off)
    )
    return [key for _, same in groupby(keys, key=lambda key: key.note) for key in _one_at_a_time(list(same))]


def _key(played: PlayedNote, capo: int, clock: Clock) -> _Key:
    on, off = clock.tick(played.span.onset), clock.tick(played.span.offset)
    note = min(played.note.pitch.midi + capo, HIGHEST_NOTE)
    return _Key(note, on, max(off, on + 1), VELOCITIES[played.note.role])


def _one_at_a_time(keys: Sequence[_Key]) -> list[_Key]:
    """Keys for one note, in order of time, none down while another is."""
    played: list[_Key] = []
    for key in keys:
        if played and key.on < played[-1].off:
            played += _struck_again(played.pop(), key)
        else:
            played.append(key)
    return played


def _struck_again(before: _Key, key: _Key) -> list[_Key]:
    off = max(before.off, key.off)
    if before.on == key.on:
        return [replace(key, off=off, velocity=max(before.velocity, key.velocity))]
    return [replace(before, off=key.on), replace(key, off=off)]
