"""Who is written in which voice.

Notes of one role struck and released together are one strike, written as a chord. Each
role has its voice; what overlaps in it goes to a further one. In bars where the
accompaniment never sounds in two layers it is written as one voice, which reads better.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import chain, count, pairwise

from apoyando.model.arrangement import Note, Role
from apoyando.model.song import Bar
from apoyando.model.time import Quarters, Span, in_whole_units, sort_by_moment

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
    sounding = [_sounding_in_bars(strikes, bars) for _, strikes in sorted(layers.items())]
    in_bars = [dict(zip(sorted(layers), each, strict=True)) for each in zip(*sounding, strict=True)]
    choices = zip(in_bars, _bars_in_one_voice(in_bars), strict=True)
    return tuple(_without_empty(_joined(voices) if is_one else voices) for voices, is_one in choices)


def strikes_of(notes: Iterable[Note]) -> tuple[Strike, ...]:
    """Notes with one span gathered, in order of time."""
    listed = list(notes)
    onsets = in_whole_units([note.onset for note in listed])
    offsets = in_whole_units([note.offset for note in listed])
    together: dict[tuple[int, int], list[Note]] = {}
    for onset, offset, note in zip(onsets, offsets, listed, strict=True):
        together.setdefault((onset, offset), []).append(note)
    return tuple(Strike(tuple(sorted(together[span], key=_height))) for span in sorted(together))


def _onset(strike: Strike) -> Quarters:
    return strike.onset


def _height(note: Note) -> int:
    return note.pitch.midi


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
    return sort_by_moment(strikes, _onset)


def _has_room(strikes: Sequence[Strike], strike: Strike) -> bool:
    return not strikes or strikes[-1].offset <= strike.onset


def _sounding_in_bars(strikes: Sequence[Strike], bars: Iterable[Bar]) -> Iterator[tuple[Strike, ...]]:
    """Of strikes that follow each other without overlap, those that sound in each bar."""
    first = stop = 0
    for bar in bars:
        while first < len(strikes) and strikes[first].offset <= bar.onset:
            first += 1
        while stop < len(strikes) and strikes[stop].onset < bar.offset:
            stop += 1
        yield tuple(strikes[first:stop])


def _bars_in_one_voice(in_bars: Sequence[Voices]) -> tuple[bool, ...]:
    """Bars whose accompaniment is a single line. What is tied over a barline keeps its voice."""
    fits = [_is_single_line(_accompaniment(voices)) for voices in in_bars]
    ties = [_is_tied_across(one, other) for one, other in pairwise(in_bars)]
    # Once forwards and once backwards carries a refusal along a chain of ties.
    for left, right in [*enumerate(range(1, len(fits))), *reversed(list(enumerate(range(1, len(fits)))))]:
        if ties[left] and not (fits[left] and fits[right]):
            fits[left] = fits[right] = False
    return tuple(fits)


def _accompaniment(voices: Voices) -> list[Strike]:
    return [strike for voice, strikes in voices.items() if voice != MELODY_VOICE for strike in strikes]


def _is_single_line(strikes: Iterable[Strike]) -> bool:
    """Nothing overlaps but what is struck and released together."""
    in_order = pairwise(sort_by_moment(strikes, _onset))
    return all(one.offset <= other.onset or one.span == other.span for one, other in in_order)


def _is_tied_across(one: Voices, other: Voices) -> bool:
    """Something that is not in the bass voice sounds over the barline: the last of a bar is the first of the next."""
    accompaniment = (voice for voice in one if voice > BASS_VOICE)
    pairs = ((one[voice][-1:], other.get(voice, ())[:1]) for voice in accompaniment)
    return any(last and first and last[0] is first[0] for last, first in pairs)


def _joined(voices: Voices) -> Voices:
    notes = (note for strike in _accompaniment(voices) for note in strike.notes)
    return {MELODY_VOICE: voices.get(MELODY_VOICE, ()), BASS_VOICE: strikes_of(notes)}


def _without_empty(voices: Voices) -> Voices:
    return {voice: strikes for voice, strikes in voices.items() if strikes or voice == MELODY_VOICE}
