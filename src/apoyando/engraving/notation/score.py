"""The piece as written signs: values, dots, ties, tuplets, beams.

An arrangement knows exact lengths; a page knows note values. ``notate`` goes from one to
the other, once, for MusicXML and for the printed page alike.

Conventions: three voices on one staff. Voice 1 melody, stems up; voice 2 the bass and
voice 3 the inner voice, stems down. Where bass and inner voice never sound together in a
bar they are written as one voice 2. What finds no room in its voice (two notes of one
role that overlap) goes to voice 4 and on, stems down. In each bar the events of a voice
follow each other without gap and fill the bar; a voice with nothing to say in a bar is
left out there, but voice 1 is always present. A ``Silence`` that is not ``is_shown``
takes its time but is not printed. Onsets are quarters from the start of the piece.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache

from apoyando.engraving.notation.beams import Beamable, beam_groups
from apoyando.engraving.notation.diagrams import Diagram
from apoyando.engraving.notation.kept import Kept
from apoyando.engraving.notation.rhythm import Stretch, Tuplet, Written, spell_bar
from apoyando.engraving.notation.values import NoteValue
from apoyando.engraving.notation.voices import MELODY_VOICE, Strike, Voices, allot_voices
from apoyando.model.arrangement import Arrangement, Note
from apoyando.model.sheet import Staves
from apoyando.model.song import Bar, Meter
from apoyando.model.time import Quarters, Span

__all__ = [
    "MELODY_VOICE",
    "Event",
    "NotatedBar",
    "NotatedScore",
    "NoteValue",
    "Silence",
    "Sounding",
    "Tuplet",
    "notate",
]

WHOLE = NoteValue(Fraction(4))
_KEPT_RHYTHMS = 4096


@dataclass(frozen=True, slots=True, kw_only=True)
class Sounding:
    """One written note head, or a chord of several. A long note may take several, tied together.

    ``notes`` is lowest first, ``note_ids`` runs along with it. ``duration`` is real time,
    tuplet included.
    """

    id: str
    notes: tuple[Note, ...]
    note_ids: tuple[str, ...]
    onset: Quarters
    duration: Quarters
    value: NoteValue
    tuplet: Tuplet | None
    is_tied_from_before: bool
    is_tied_to_next: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Silence:
    """A written rest, or a hidden one that only takes time.

    ``is_whole_bar``: the rest that hangs in the middle of the bar, whatever its length.
    """

    id: str
    onset: Quarters
    duration: Quarters
    value: NoteValue
    tuplet: Tuplet | None
    is_shown: bool
    is_whole_bar: bool = False


Event = Sounding | Silence


@dataclass(frozen=True, slots=True)
class NotatedBar:
    """One bar: for each voice number its events, and groups of event ids under one beam.

    Ids: ``m3v2e0`` is event 0 of voice 2 in the bar with index 3, ``m3v2e0n1`` the second
    lowest note in it.
    """

    bar: Bar
    voices: Mapping[int, tuple[Event, ...]]
    beams: tuple[tuple[str, ...], ...]


@dataclass(frozen=True, slots=True)
class NotatedScore:
    """A piece as it is written.

    ``diagrams`` are the chord shapes that are shown as pictures, ``held`` the notes that have a hold
    line, ``kept`` is what a hold chart under each system shows; none unless they are asked for.
    ``staves``: whether it is written in notation, in tablature or in both.
    """

    arrangement: Arrangement
    bars: tuple[NotatedBar, ...]
    diagrams: tuple[Diagram, ...] = ()
    held: tuple[Note, ...] = ()
    kept: tuple[Kept, ...] = ()
    staves: Staves = Staves.NOTATION


@dataclass(frozen=True, slots=True)
class _Doing:
    """What a voice does for a time within one bar: ``strike`` is None where it is silent.

    ``begins_before`` and ``ends_after`` say of a strike that the bar does not hold all of it.
    """

    strike: Strike | None
    span: Span
    begins_before: bool = False
    ends_after: bool = False


@dataclass(frozen=True, slots=True)
class _Sign:
    """One sign of what a voice does, and whether it is tied to another of the same strike in this bar."""

    doing: int
    written: Written
    is_first: bool
    is_last: bool


def notate(arrangement: Arrangement, *, has_melody: bool = True) -> NotatedScore:
    """Write an arrangement: every bar spelled, tied, beamed. Takes any lengths, never fails.

    Without ``has_melody`` it is an accompaniment that stands alone, and has rests of its own.
    """
    in_bars = allot_voices(arrangement.notes, arrangement.bars)
    pairs = zip(arrangement.bars, in_bars, strict=True)
    bars = (_notate_bar(bar, voices, _leader(voices, has_melody)) for bar, voices in pairs)
    return NotatedScore(arrangement, tuple(bars))


def _leader(voices: Voices, has_melody: bool) -> int:
    """The voice whose rests are shown: the melody, or where there is none the first that sounds."""
    if has_melody:
        return MELODY_VOICE
    return min((voice for voice, strikes in voices.items() if strikes), default=MELODY_VOICE)


def _notate_bar(bar: Bar, voices: Voices, leader: int) -> NotatedBar:
    lines = {voice: _notate_voice(bar, voice, voices, leader) for voice in voices}
    beams = tuple(group for _, groups in lines.values() for group in groups)
    return NotatedBar(bar, {voice: events for voice, (events, _) in lines.items()}, beams)


def _notate_voice(
    bar: Bar, voice: int, voices: Voices, leader: int
) -> tuple[tuple[Event, ...], tuple[tuple[str, ...], ...]]:
    """The events of a voice, and the ids of those under one beam."""
    doings = _doings(bar, voices[voice])
    shown = [
        voice == leader and doing.strike is None and _is_rest_shown(bar, doing.span, voices, leader)
        for doing in doings
    ]
    if len(doings) == 1 and shown[0] and bar.span.duration == bar.meter.bar_length:
        return (_whole_bar_rest(bar, voice),), ()
    stretches = tuple(Stretch(doing.span.duration, is_rest=doing.strike is None) for doing in doings)
    signs, beams = _write_rhythm(stretches, bar.meter, bar.meter_phase)
    ids = [f"m{bar.index}v{voice}e{number}" for number in range(len(signs))]
    events = (
        _event(event_id, bar, doings[sign.doing], sign, shown[sign.doing])
        for event_id, sign in zip(ids, signs, strict=True)
    )
    return tuple(events), tuple(tuple(ids[number] for number in group) for group in beams)


@lru_cache(_KEPT_RHYTHMS)
def _write_rhythm(
    stretches: tuple[Stretch, ...], meter: Meter, phase: Quarters
) -> tuple[tuple[_Sign, ...], tuple[tuple[int, ...], ...]]:
    """The signs of one voice in one bar, and which of them have one beam: a piece has few rhythms and many bars."""
    signs = tuple(
        _Sign(doing, written, is_first=number == 0, is_last=number + 1 == len(line))
        for doing, line in enumerate(spell_bar(stretches, meter, phase))
        for number, written in enumerate(line)
    )
    beamable = [
        Beamable(
            phase + sign.written.onset, sign.written.value, sign.written.tuplet, stretches[sign.doing].is_rest
        )
        for sign in signs
    ]
    return signs, beam_groups(beamable, meter)


def _doings(bar: Bar, strikes: Sequence[Strike]) -> tuple[_Doing, ...]:
    """Strikes clipped to the bar, with the silences between them."""
    doings: list[_Doing] = []
    now = bar.onset
    for strike in strikes:
        # Only the first can come from the bar before, and only the last go on in the next.
        begins_before = strike is strikes[0] and strike.onset < bar.onset
        ends_after = strike is strikes[-1] and bar.offset < strike.offset
        onset = bar.onset if begins_before else strike.onset
        if now != onset:
            doings.append(_Doing(None, Span(now, onset)))
        now = bar.offset if ends_after else strike.offset
        span = Span(onset, now) if begins_before or ends_after else strike.span
        doings.append(_Doing(strike, span, begins_before, ends_after))
    if now != bar.offset:
        doings.append(_Doing(None, Span(now, bar.offset)))
    return tuple(doings)


def _event(event_id: str, bar: Bar, doing: _Doing, sign: _Sign, is_shown: bool) -> Event:
    written = sign.written
    onset = doing.span.onset if sign.is_first else bar.onset + written.onset
    if doing.strike is None:
        return Silence(
            id=event_id,
            onset=onset,
            duration=written.duration,
            value=written.value,
            tuplet=written.tuplet,
            is_shown=is_shown,
        )
    return Sounding(
        id=event_id,
        notes=doing.strike.notes,
        note_ids=tuple([f"{event_id}n{number}" for number in range(len(doing.strike.notes))]),
        onset=onset,
        duration=written.duration,
        value=written.value,
        tuplet=written.tuplet,
        is_tied_from_before=doing.begins_before or not sign.is_first,
        is_tied_to_next=doing.ends_after or not sign.is_last,
    )


def _whole_bar_rest(bar: Bar, voice: int) -> Silence:
    return Silence(
        id=f"m{bar.index}v{voice}e0",
        onset=bar.onset,
        duration=bar.span.duration,
        value=WHOLE,
        tuplet=None,
        is_shown=True,
        is_whole_bar=True,
    )


def _is_rest_shown(bar: Bar, gap: Span, voices: Voices, leader: int) -> bool:
    """A rest of the melody is shown if it lasts a beat, or if nothing else sounds through it.

    Shorter ones under a running accompaniment only clutter the beat (common practice, no
    source). Rests of the accompaniment are shown only where it stands alone, and only those
    in which it is silent as a whole.
    """
    if leader != MELODY_VOICE:
        return not _is_sounding_through(gap, voices, leader)
    beat = bar.meter.pulse if bar.meter.is_compound else min(bar.meter.pulse, Fraction(1))
    start = gap.onset - bar.onset + bar.meter_phase
    first_beat = -(-start // beat) * beat
    lasts_a_beat = first_beat + beat <= start + gap.duration
    return lasts_a_beat or not _is_sounding_through(gap, voices, leader)


def _is_sounding_through(gap: Span, voices: Voices, leader: int) -> bool:
    """The other voices leave no hole in a gap of the leading one."""
    strikes = (s for voice, line in voices.items() if voice != leader for s in line)
    now = gap.onset
    for strike in sorted(strikes, key=lambda strike: strike.onset):
        if strike.onset <= now:
            now = max(now, strike.offset)
    return now >= gap.offset
