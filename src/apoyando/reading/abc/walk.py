"""The state of reading one voice from left to right: time, bars, accidentals, and what was found.

The one place in this format where something changes in place: a note's length may depend
on the sign after it (broken rhythm), its pitch on those before it in the bar.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from fractions import Fraction

from apoyando.model.errors import Problem
from apoyando.model.pitch import Pitch, PitchName, Step
from apoyando.model.song import Bar, Barline, Jump, Meter
from apoyando.model.time import Quarters, Span
from apoyando.reading.abc.barlines import BarSign
from apoyando.reading.abc.fields import AbcKey, Sounding
from apoyando.reading.abc.tokens import Token, WrittenNote
from apoyando.reading.draft import LONGEST_BAR_QUARTERS, DraftChord, DraftNote, free_meter
from apoyando.reading.form import sort_jumps

_SIGN_ALTERS = {"^^": 2, "^": 1, "=": 0, "_": -1, "__": -2}
_AT_START = (Jump.SEGNO, Jump.CODA)
_BACK = (Jump.DA_CAPO, Jump.DAL_SEGNO)
_OCTAVE_OF_CAPITALS = 4


@dataclass(frozen=True, slots=True, kw_only=True)
class VoiceSetting:
    """What holds at the start of a voice. ``unit`` in quarters; ``accidentals``: pitch, octave or not."""

    unit: Fraction
    meter: Meter | None
    key: AbcKey
    sounding: Sounding
    symbols: Mapping[str, str]
    accidentals: str = "pitch"


@dataclass(frozen=True, slots=True)
class Event:
    """Notes struck together, or a rest: where its notes begin in the list, and its time."""

    first_note: int
    onset: Quarters
    duration: Quarters


@dataclass(frozen=True, slots=True)
class Mark:
    """A sign of the form, where it stands."""

    jump: Jump
    words: str
    moment: Quarters


@dataclass(slots=True, kw_only=True)
class Walk:
    """Everything that changes while a voice is read."""

    setting: VoiceSetting
    unit: Fraction
    meter: Meter | None
    key: AbcKey
    sounding: Sounding
    accidentals: str
    bar_key: AbcKey
    bar_meter: Meter | None
    time: Quarters = Fraction(0)
    bar_start: Quarters = Fraction(0)
    bars: list[Bar] = field(default_factory=list)
    notes: list[DraftNote] = field(default_factory=list)
    chords: list[DraftChord] = field(default_factory=list)
    events: list[Event] = field(default_factory=list)
    note_bars: list[int] = field(default_factory=list)
    remarks: list[tuple[int, str]] = field(default_factory=list)
    expression: list[tuple[int, str]] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)
    marks: list[Mark] = field(default_factory=list)
    in_bar: dict[tuple[Step, int], int] = field(default_factory=dict)
    tied: tuple[DraftNote, ...] = ()
    tuplet: Fraction = Fraction(1)
    tuplet_left: int = 0
    next_factor: Fraction = Fraction(1)
    has_fermata: bool = False
    starts_repeat: bool = False
    start_times: int = 0
    ending: tuple[int, ...] = ()
    section: str = ""
    tempo: Fraction | None = None
    tempo_words: str = ""
    strange: int = 0
    is_overlaid: bool = False
    is_alone: bool = True

    @classmethod
    def at_start(cls, setting: VoiceSetting, *, is_alone: bool) -> "Walk":
        return cls(
            setting=setting,
            unit=setting.unit,
            meter=setting.meter,
            key=setting.key,
            sounding=setting.sounding,
            accidentals=setting.accidentals,
            bar_key=setting.key,
            bar_meter=setting.meter,
            is_alone=is_alone,
        )

    def remark(self, text: str, token: Token | None = None) -> None:
        where = f" (line {token.line}, column {token.column})" if token else ""
        self.remarks.append((len(self.bars), f"{text}{where}."))

    def report(self, what: str, remedy: str, token: Token) -> None:
        place = f"line {token.line}, column {token.column} (bar {self.bar_number()})"
        self.problems.append(Problem(place, what, remedy))

    def bar_number(self) -> int:
        """The number of the bar being read, a pickup counted as 0."""
        first = self.bars[0] if self.bars else None
        has_pickup = first is not None and first.span.duration < first.meter.bar_length
        return len(self.bars) + (0 if has_pickup else 1)


def take_time(walk: Walk, written: Fraction) -> Quarters:
    """The length of the next note or rest in quarters, with tuplet and broken rhythm applied."""
    duration = written * walk.unit * walk.next_factor
    walk.next_factor = Fraction(1)
    if walk.tuplet_left:
        duration *= walk.tuplet
        walk.tuplet_left -= 1
    return duration


def sound(walk: Walk, written: tuple[WrittenNote, ...], duration: Quarters, *, ties_on: bool) -> None:
    """Strike notes together at the present moment, and go on by their length."""
    first = len(walk.notes)
    pitches = tuple((note, _resolve(walk, note)) for note in written)
    for note, pitch in pitches:
        walk.notes.append(
            DraftNote(
                onset=walk.time,
                duration=duration,
                pitch=pitch,
                has_fermata=walk.has_fermata,
                ties_on=ties_on or note.ties_on,
                ties_back=any(_continues(walk, tied, pitch) for tied in walk.tied),
            ),
        )
        walk.note_bars.append(len(walk.bars))
    walk.tied = tuple(note for note in walk.notes[first:] if note.ties_on)
    walk.has_fermata = False
    _finish_event(walk, first, duration)


def rest(walk: Walk, duration: Quarters) -> None:
    walk.has_fermata = False
    walk.tied = ()
    _finish_event(walk, len(walk.notes), duration)


def _finish_event(walk: Walk, first: int, duration: Quarters) -> None:
    walk.events.append(Event(first, walk.time, duration))
    walk.time += duration


def _continues(walk: Walk, tied: DraftNote, pitch: Pitch) -> bool:
    return tied.offset == walk.time and tied.pitch.midi == pitch.midi


def tie_last(walk: Walk) -> bool:
    """Let the last event be tied on; False if there is none."""
    if not walk.events or walk.events[-1].first_note >= len(walk.notes):
        return False
    first = walk.events[-1].first_note
    walk.notes[first:] = [replace(note, ties_on=True) for note in walk.notes[first:]]
    walk.tied = tuple(walk.notes[first:])
    return True


def stretch_last(walk: Walk, factor: Fraction) -> bool:
    """Change the length of the last event (broken rhythm); False if there is none in this bar."""
    if not walk.events or walk.events[-1].onset < walk.bar_start:
        return False
    event = walk.events[-1]
    duration = event.duration * factor
    walk.events[-1] = replace(event, duration=duration)
    first = event.first_note
    walk.notes[first:] = [replace(note, duration=duration) for note in walk.notes[first:]]
    walk.tied = tuple(note for note in walk.notes[first:] if note.ties_on)
    old, walk.time = walk.time, event.onset + duration
    walk.chords = [replace(chord, onset=walk.time) if chord.onset == old else chord for chord in walk.chords]
    return True


def _resolve(walk: Walk, note: WrittenNote) -> Pitch:
    """The sounding pitch of a written note: its own accidental, a tie, the bar's, or the key's."""
    step = Step(note.letter.upper())
    octave = _OCTAVE_OF_CAPITALS + note.octaves + (1 if note.letter.islower() else 0)
    alter = _alter(walk, note, step, octave)
    written = Pitch(PitchName(step, alter), octave + walk.sounding.octaves)
    return written.transposed(walk.sounding.interval)


def _alter(walk: Walk, note: WrittenNote, step: Step, octave: int) -> int:
    scope = octave if walk.accidentals == "octave" else 0
    if note.accidental:
        alter = _SIGN_ALTERS[note.accidental]
        if walk.accidentals != "not":
            walk.in_bar[step, scope] = alter
        return alter
    tied = _tied_alter(walk, step, octave)
    if tied is not None:
        return tied
    return walk.in_bar.get((step, scope), walk.key.alters.get(step, 0))


def _tied_alter(walk: Walk, step: Step, octave: int) -> int | None:
    """A tie carries an accidental over the barline (custom of notation; the standard is silent)."""
    back = walk.sounding.interval
    for tied in walk.tied:
        written = tied.pitch.transposed(type(back)(-back.fifths, -back.semitones))
        if (written.name.step, written.octave - walk.sounding.octaves) == (step, octave):
            return written.name.alter
    return None


def close_bar(walk: Walk, sign: BarSign) -> None:
    """A bar sign: end the bar that is being read, if it holds anything, and open the next."""
    length = walk.time - walk.bar_start
    if sign.is_soft and walk.bar_meter and length < walk.bar_meter.bar_length:
        return
    if length > 0:
        _add_bar(walk, length)
    _place_marks(walk, length)
    if walk.bars:
        _sign_last(walk, sign)
    if sign.starts_repeat:
        walk.starts_repeat, walk.start_times = True, sign.start_times
    if sign.stops_ending:
        walk.ending = ()
    walk.in_bar = {}
    walk.is_overlaid = False
    walk.bar_start = walk.time
    walk.bar_key, walk.bar_meter = walk.key, walk.meter


def _add_bar(walk: Walk, length: Quarters) -> None:
    walk.bars.append(
        Bar(
            index=len(walk.bars),
            number="",
            span=Span(walk.bar_start, walk.time),
            meter=walk.bar_meter or free_meter(min(length, Fraction(LONGEST_BAR_QUARTERS))),
            key=walk.bar_key.key.transposed(walk.sounding.interval.fifths),
            starts_repeat=walk.starts_repeat,
            endings=walk.ending,
            section=walk.section,
        ),
    )
    walk.starts_repeat = False
    walk.section = ""


def _sign_last(walk: Walk, sign: BarSign) -> None:
    """What the sign says of the bar before it."""
    bar = walk.bars[-1]
    times = max(sign.repeat_times, walk.start_times) if sign.repeat_times else bar.repeat_times
    walk.start_times = 0 if sign.repeat_times else walk.start_times
    has_sign = times > 0 or bar.barline is not Barline.REGULAR
    walk.bars[-1] = replace(
        bar,
        repeat_times=times,
        barline=bar.barline if has_sign else sign.style,
        ending_stops=bar.ending_stops or (bool(bar.endings) and sign.stops_ending),
    )


def open_ending(walk: Walk, passes: tuple[int, ...]) -> None:
    """Start an ending with the next note; it closes the one before it."""
    if walk.bars and walk.bars[-1].endings:
        walk.bars[-1] = replace(walk.bars[-1], ending_stops=True)
    walk.ending = passes


def _place_marks(walk: Walk, length: Quarters) -> None:
    """Signs of the form go to the bar's start or end; those after the last bar to that bar."""
    kept: list[Mark] = []
    for mark in walk.marks:
        is_at_end = mark.moment >= walk.time
        if (length == 0 and (mark.jump in _AT_START or not walk.bars)) or (
            mark.jump is Jump.SEGNO and is_at_end
        ):
            kept.append(mark)
        elif mark.jump in _BACK and mark.moment == walk.bar_start and len(walk.bars) > 1 and length > 0:
            add_mark(walk, len(walk.bars) - 2, mark)
        else:
            is_exit = mark.jump is Jump.CODA and is_at_end
            add_mark(walk, len(walk.bars) - 1, replace(mark, jump=Jump.TO_CODA) if is_exit else mark)
    walk.marks = kept


def add_mark(walk: Walk, index: int, mark: Mark) -> bool:
    """Put a sign on a bar that has been read; False if that bar is still open."""
    if index >= len(walk.bars):
        return False
    bar = walk.bars[index]
    words = mark.words or bar.jump_words
    walk.bars[index] = replace(bar, jumps=sort_jumps((*bar.jumps, mark.jump)), jump_words=words)
    return True
