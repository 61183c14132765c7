"""The cue sheet: which string is plucked when, how, how loudly, and when it is stopped.

It is all that a player of sounds needs (the stems here, a web page elsewhere): plain values in
seconds, no music left in them.

Conventions: seconds from the first note of the first bar; gains as factors of the sample, levels in dB.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

from apoyando.model.arrangement import Arrangement, Note, Role
from apoyando.model.instrument import NODES, StringNumber
from apoyando.sound.performance import PlayedNote
from apoyando.sound.phrasing import Shading, play_evenly, shape
from apoyando.sound.samples import Sample, Stroke, from_db
from apoyando.sound.takes import Take, find_beats
from apoyando.sound.tempo import Clock, set_clock

STROKES = {Role.MELODY: Stroke.REST, Role.BASS: Stroke.THUMB, Role.INNER: Stroke.FREE}
"""The melody by rest stroke, so that it stands out; the rest as common practice has it (no source)."""
SHORTEST_S = 0.02
"""No note is over before it is heard, however fast the tempo."""
ROLE_LEVELS_DB = {Role.MELODY: 0.0, Role.BASS: 0.0, Role.INNER: -2.0}
"""Within the accompaniment the inner voice lies under the bass (an estimate, no source)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Cue:
    """One note: pluck ``sample`` at ``onset_s``, with ``gain``, and stop the string ``duration_s`` later.

    ``note`` is the place of the note among those of the arrangement.
    """

    onset_s: float
    duration_s: float
    sample: Sample
    gain: float
    role: Role
    note: int

    @property
    def stop_s(self) -> float:
        return self.onset_s + self.duration_s


@dataclass(frozen=True, slots=True)
class BarCue:
    """A bar as it is played: its place among the written ones, its printed number, and when it begins."""

    index: int
    number: str
    onset_s: float


@dataclass(frozen=True, slots=True)
class BeatCue:
    """A felt beat; ``is_first``: the first of its bar."""

    onset_s: float
    is_first: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class CueSheet:
    """All that sounds. ``beats`` are those of the music, ``clicks`` those that are to be heard.

    Laws: cues are in order of their onsets; two of one string overlap only where two voices share a note.
    """

    cues: tuple[Cue, ...]
    bars: tuple[BarCue, ...]
    beats: tuple[BeatCue, ...]
    clicks: tuple[BeatCue, ...]
    duration_s: float

    def of(self, *roles: Role) -> tuple[Cue, ...]:
        """What is heard of these roles together. Law: one note at a time on each string."""
        heard = _one_at_a_time(cue for cue in self.cues if cue.role in roles)
        return tuple(sorted(heard, key=lambda cue: cue.onset_s))

    @property
    def samples(self) -> tuple[Sample, ...]:
        """Each once, in order."""
        return tuple(sorted({cue.sample for cue in self.cues}))


def plan_cues(
    arrangement: Arrangement, take: Take, speed: float = 1.0, *, is_phrased: bool = True
) -> CueSheet:
    """When and how each note of a take of the arrangement sounds.

    ``speed`` is a factor of its tempo. Without phrasing all is even: each beat as long as the
    others, and each note of a voice as loud.
    """
    performance = take.performance
    phrasing = shape(performance) if is_phrased else play_evenly(performance)
    clock = set_clock(float(arrangement.tempo_quarters_per_minute) * speed, phrasing.easings)
    places = {id(note): place for place, note in enumerate(arrangement.notes)}
    cues = [
        _cue(played, shading, places[id(played.note)], arrangement, clock)
        for played, shading in zip(performance.notes, phrasing.shadings, strict=True)
    ]
    bars = (BarCue(each.bar.index, each.bar.number, clock.second(each.onset)) for each in performance.bars)
    return CueSheet(
        cues=tuple(sorted(cues, key=lambda cue: cue.onset_s)),
        bars=tuple(bars),
        beats=tuple(BeatCue(clock.second(beat.onset), beat.is_first) for beat in find_beats(performance)),
        clicks=tuple(BeatCue(clock.second(beat.onset), beat.is_first) for beat in take.clicks),
        duration_s=clock.second(take.duration),
    )


def _cue(played: PlayedNote, shading: Shading, place: int, arrangement: Arrangement, clock: Clock) -> Cue:
    note = played.note
    onset = clock.second(played.onset) + shading.delay_s
    return Cue(
        onset_s=onset,
        duration_s=max(clock.second(played.offset) - onset, SHORTEST_S),
        sample=choose_sample(arrangement, note),
        gain=from_db(ROLE_LEVELS_DB[note.role] + shading.level_db),
        role=note.role,
        note=place,
    )


def choose_sample(arrangement: Arrangement, note: Note) -> Sample:
    """How a note of the arrangement is plucked: its string, its place above the capo, its role's stroke."""
    fret = 0 if note.is_harmonic else note.place.fret
    return Sample(
        string=note.place.string,
        open_note=arrangement.tuning.open_note(note.place.string),
        fret=fret + arrangement.capo,
        stroke=STROKES[note.role],
        is_open=fret == 0,
        parts=NODES[note.place.fret] if note.is_harmonic else 1,
    )


def _one_at_a_time(cues: Iterable[Cue]) -> Iterator[Cue]:
    """A string that is plucked anew is stopped; of two voices that share a note one is plucked."""
    sounding: dict[StringNumber, Cue] = {}
    for cue in cues:
        string = cue.sample.string
        before = sounding.pop(string, None)
        if before is None or before.stop_s <= cue.onset_s:
            yield from [] if before is None else [before]
            sounding[string] = cue
        else:
            sounding[string] = _struck_again(before, cue)
            if before.onset_s < cue.onset_s:
                yield replace(before, duration_s=cue.onset_s - before.onset_s)
    yield from sounding.values()


def _struck_again(before: Cue, cue: Cue) -> Cue:
    """The later of two on one string, or the louder of two at once; the same note is held to the last end."""
    plucked = max(before, cue, key=lambda each: (each.onset_s, each.gain, each.role is Role.MELODY))
    is_shared = before.sample.pitch == cue.sample.pitch
    stop = max(before.stop_s, cue.stop_s) if is_shared else cue.stop_s
    return replace(plucked, duration_s=stop - plucked.onset_s)
