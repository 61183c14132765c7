"""The limits of a level on what is read and struck: keys, values, notes at once."""

from collections.abc import Iterator, Sequence
from fractions import Fraction
from itertools import groupby, pairwise

from apoyando.model.arrangement import Arrangement, Note, Role
from apoyando.model.level import Level
from apoyando.model.pitch import Key, Mode
from apoyando.model.song import Bar
from apoyando.model.time import Quarters, Span
from apoyando.proofing.level_rules import Fault, LevelRule
from apoyando.proofing.wording import name_length, name_note, name_tempo

_MOST_OF_THEM = Fraction(1, 2)
"""A key is taken for its open basses where at least half of them are open (estimate, no source)."""
_PAIR = 2


def find_foreign_keys(arrangement: Arrangement, level: Level) -> Iterator[Fault]:
    """Keys that the level does not have, each where it begins."""
    for key, group in groupby(arrangement.bars, key=lambda bar: bar.key):
        stretch = tuple(group)
        if not level.keys or _is_among(key, level.keys):
            continue
        if not _is_among(key, level.keys_over_open_basses):
            yield _key_fault(stretch, f"{key} is not one of this level's keys ({_name_keys(level.keys)})")
            continue
        count, opens = _count_basses(arrangement, stretch)
        if opens < _MOST_OF_THEM * count:
            words = f"{key} is for this level where most basses are open strings; here {opens} of {count} are"
            yield _key_fault(stretch, words)


def _key_fault(stretch: Sequence[Bar], words: str) -> Fault:
    return Fault(onset=stretch[0].onset, rule=LevelRule.KEY, stretch=None, words=words)


def _is_among(key: Key, keys: Sequence[Key]) -> bool:
    """Major and minor by name; another mode by its signature."""
    plain = {Mode.IONIAN: Mode.MAJOR, Mode.AEOLIAN: Mode.MINOR}.get(key.mode, key.mode)
    if plain in {Mode.MAJOR, Mode.MINOR}:
        return Key(key.fifths, plain) in keys
    return any(key.fifths == other.fifths for other in keys)


def _name_keys(keys: Sequence[Key]) -> str:
    return ", ".join(f"{key.tonic}{'m' if key.mode is Mode.MINOR else ''}" for key in keys)


def _count_basses(arrangement: Arrangement, stretch: Sequence[Bar]) -> tuple[int, int]:
    """How many basses begin in these bars, and how many of them are open strings."""
    span = Span(stretch[0].onset, stretch[-1].offset)
    basses = [note for note in arrangement.voice(Role.BASS) if span.contains(note.onset)]
    return len(basses), sum(note.place.is_open for note in basses)


def find_short_values(arrangement: Arrangement, level: Level) -> Iterator[Fault]:
    """Strokes of a voice that are written too short, or are too quick at this tempo.

    A stroke's value is its note's, or the time to the next stroke of its voice if that is less.
    """
    yield from _short_accompaniment(arrangement, level)
    yield from _short_melody(arrangement, level)


def _short_accompaniment(arrangement: Arrangement, level: Level) -> Iterator[Fault]:
    for note, value in _struck_values(arrangement.voice(Role.BASS, Role.INNER)):
        yield from _judge_value(arrangement, note, value, level, level.accompaniment_shortest)


def _short_melody(arrangement: Arrangement, level: Level) -> Iterator[Fault]:
    """Quick notes are let pass one or two in a row, each going on by step."""
    values = _struck_values(arrangement.voice(Role.MELODY))
    quick_below = level.at_tempo(level.melody_shortest, arrangement.tempo_quarters_per_minute)
    for is_quick, run in _runs(values, quick_below):
        shortest = level.melody_shortest
        if is_quick and len(run) <= _PAIR and _goes_by_step(run, values):
            shortest = min(shortest, level.melody_stepwise_shortest)
        for note, value in run if is_quick else ():
            yield from _judge_value(arrangement, note, value, level, shortest)


_Struck = tuple[Note, Quarters]


def _struck_values(notes: Sequence[Note]) -> list[_Struck]:
    """Every note with the value of its stroke, in order of time."""
    ordered = sorted(notes, key=lambda note: note.onset)
    onsets = sorted({note.onset for note in ordered})
    gaps = {onset: following - onset for onset, following in pairwise(onsets)}
    return [(note, min(note.duration, gaps.get(note.onset, note.duration))) for note in ordered]


def _runs(values: Sequence[_Struck], quick_below: Quarters) -> Iterator[tuple[bool, list[_Struck]]]:
    for is_quick, run in groupby(values, key=lambda each: each[1] < quick_below):
        yield is_quick, list(run)


def _goes_by_step(run: Sequence[_Struck], values: Sequence[_Struck]) -> bool:
    """Whether each of the notes goes to the next one of the voice, if one follows at once, by a second."""
    at = values.index(run[0])
    return all(
        abs(note.pitch.staff_height - following.pitch.staff_height) <= 1 or following.onset > note.offset
        for (note, _), (following, _) in pairwise(values[at : at + len(run) + 1])
    )


def _judge_value(
    arrangement: Arrangement, note: Note, value: Quarters, level: Level, shortest: Quarters
) -> Iterator[Fault]:
    tempo = arrangement.tempo_quarters_per_minute
    if value < shortest:
        words = f"{name_note(note)} is struck as {name_length(value)}, shorter than {name_length(shortest)}"
        # Tune and texture have such values, whatever the hand does.
        yield Fault(onset=note.onset, rule=LevelRule.SHORTEST, stretch=None, words=words)
    elif value < level.at_tempo(shortest, tempo):
        words = (
            f"{name_note(note)} is struck as {name_length(value)} at {name_tempo(tempo)}, quicker than "
            f"{name_length(shortest)} at {name_tempo(Fraction(level.tempo_quarters_per_minute))}"
        )
        kept_at = level.fastest_for(value, shortest)
        yield Fault(onset=note.onset, rule=LevelRule.TEMPO, stretch=note.span, words=words, kept_at=kept_at)


def find_full_strokes(arrangement: Arrangement, level: Level) -> Iterator[Fault]:
    """More notes at once than the level has, unless it may strum and they are a strum."""
    for onset, group in groupby(
        sorted(arrangement.notes, key=lambda note: note.onset), key=lambda note: note.onset
    ):
        struck = tuple(group)
        if len(struck) > level.struck_together and not (level.strums and _is_strum(struck)):
            words = f"{len(struck)} notes are struck together, at most {level.struck_together}"
            span = min((note.span for note in struck), key=lambda span: span.offset)
            yield Fault(onset=onset, rule=LevelRule.STRUCK_TOGETHER, stretch=span, words=words)


def _is_strum(struck: Sequence[Note]) -> bool:
    """One sweep takes them all: their strings lie side by side."""
    strings = {note.place.string for note in struck}
    return max(strings) - min(strings) + 1 == len(strings)
