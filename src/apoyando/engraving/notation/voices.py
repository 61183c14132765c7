"""Who is written in which voice.

Notes of one role struck and released together are one strike, written as a chord. Each
role has its voice; what overlaps in it goes to a further one. In bars where the
accompaniment never sounds in two layers it is written as one voice, which reads better.
"""

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import chain, count, groupby, pairwise

from apoyando.model.arrangement import Note, Role
from apoyando.model.song import Bar
from apoyando.model.time import Quarters, Span

MELODY_VOICE = 1
BASS_VOICE = 2
INNER_VOICE = 3
FIRST_FURTHER_VOICE = 4
VOICE_OF_ROLE = {Role.MELODY: MELODY_VOICE, Role.BASS: BASS_VOICE, Role.INNER: INNER_VOICE}


@dataclass(frozen=True, slots=True)
class Strike:
    """Notes struck and released together, lowest first."""

    notes: tuple[Note, ...]

    @property
    def span(self) -> Span:
        return self.notes[0].span

    @property
    def onset(self) -> Quarters:
        return self.span.onset

    @property
    def offset(self) -> Quarters:
        return self.span.offset


Voices = Mapping[int, tuple[Strike, ...]]


def allot_voices(notes: Sequence[Note], bars: Sequence[Bar]) -> tuple[Voices, ...]:
    """For each bar the strikes that sound in it (they may begin before or end after), by voice."""
    layers = {MELODY_VOICE: (), **_layers(notes)}
    in_bars = [
        {voice: _sounding_in(bar, strikes) for voice, strikes in sorted(layers.items())} for bar in bars
    ]
    joined = [_joined(voices) for voices in in_bars]
    one_voice = _bars_in_one_voice(in_bars, joined)
    choices = zip(in_bars, joined, one_voice, strict=True)
    return tuple(_without_empty(line if is_one else voices) for voices, line, is_one in choices)


def strikes_of(notes: Iterable[Note]) -> tuple[Strike, ...]:
    """Notes with one span gathered, in order of time."""
    ordered = sorted(notes, key=lambda note: (note.onset, note.offset, note.pitch.midi))
    return tuple(Strike(tuple(group)) for _, group in groupby(ordered, key=lambda note: note.span))


def _layers(notes: Sequence[Note]) -> Voices:
    """Every strike in a voice where nothing overlaps it, its role's own voice if there is room."""
    layers: dict[int, list[Strike]] = {}
    for strike in _strikes_by_role(notes):
        voices = chain((VOICE_OF_ROLE[strike.notes[0].role],), count(FIRST_FURTHER_VOICE))
        free = next(voice for voice in voices if _has_room(layers.get(voice, ()), strike))
        layers.setdefault(free, []).append(strike)
    return {voice: tuple(strikes) for voice, strikes in layers.items()}


def _strikes_by_role(notes: Sequence[Note]) -> list[Strike]:
    """In order of time; at one moment the melody first, then the bass."""
    strikes = (s for role in VOICE_OF_ROLE for s in strikes_of(note for note in notes if note.role is role))
    return sorted(strikes, key=lambda strike: strike.onset)


def _has_room(strikes: Sequence[Strike], strike: Strike) -> bool:
    return not strikes or strikes[-1].offset <= strike.onset


def _sounding_in(bar: Bar, strikes: Sequence[Strike]) -> tuple[Strike, ...]:
    """Of strikes that follow each other without overlap, those that sound in the bar."""
    first = bisect_right(strikes, bar.onset, key=_offset)
    return tuple(strikes[first : bisect_left(strikes, bar.offset, key=_onset)])


def _onset(strike: Strike) -> Quarters:
    return strike.onset


def _offset(strike: Strike) -> Quarters:
    return strike.offset


def _bars_in_one_voice(in_bars: Sequence[Voices], joined: Sequence[Voices]) -> tuple[bool, ...]:
    """Bars whose accompaniment is a single line. What is tied over a barline keeps its voice."""
    fits = [_is_single_line(voices[BASS_VOICE]) for voices in joined]
    ties = [_is_tied_across(one, other) for one, other in pairwise(in_bars)]
    # Once forwards and once backwards carries a refusal along a chain of ties.
    for left, right in [*enumerate(range(1, len(fits))), *reversed(list(enumerate(range(1, len(fits)))))]:
        if ties[left] and not (fits[left] and fits[right]):
            fits[left] = fits[right] = False
    return tuple(fits)


def _is_single_line(strikes: Sequence[Strike]) -> bool:
    return all(one.offset <= other.onset for one, other in pairwise(strikes))


def _is_tied_across(one: Voices, other: Voices) -> bool:
    """Something that is not in the bass voice sounds over the barline: the last of a bar is the first of the next."""
    accompaniment = (voice for voice in one if voice > BASS_VOICE)
    pairs = ((one[voice][-1:], other.get(voice, ())[:1]) for voice in accompaniment)
    return any(last and first and last[0] is first[0] for last, first in pairs)


def _joined(voices: Voices) -> Voices:
    melody = voices.get(MELODY_VOICE, ())
    rest = (
        note
        for voice, strikes in voices.items()
        if voice != MELODY_VOICE
        for s in strikes
        for note in s.notes
    )
    return {MELODY_VOICE: melody, BASS_VOICE: strikes_of(rest)}


def _without_empty(voices: Voices) -> Voices:
    return {voice: strikes for voice, strikes in voices.items() if strikes or voice == MELODY_VOICE}
