"""What a piece asks for: each sentence from one thing that was counted or looked up."""

from collections import Counter
from collections.abc import Iterator, Mapping
from fractions import Fraction
from itertools import groupby, pairwise

from apoyando.model.arrangement import Barre, Note
from apoyando.model.beat import name_count
from apoyando.model.form import play_order, playing_minutes
from apoyando.model.hand import Pluck, roman
from apoyando.model.instrument import STANDARD_TUNING, STRINGS
from apoyando.model.note_values import name_value
from apoyando.model.pitch import PitchName
from apoyando.model.position import list_positions
from apoyando.model.song import Bar, bar_at
from apoyando.teaching.lesson.facts import Facts, PieceRule
from apoyando.teaching.points import RELAXED_STROKES_PER_SECOND, Cause
from apoyando.teaching.wording import MOST_LISTED, join_words, name_barre, name_bars, name_note

FEWEST_BARS_OF_A_PATTERN = 3
"""A pattern of the right hand that comes more seldom is not worth practising by itself (estimate)."""
_PLAINEST_FIFTHS = range(-4, 8)
"""From A flat to B sharp's neighbour C sharp: how open strings are called."""


def tell_key(facts: Facts) -> Iterator[str]:
    yield f"Key: {facts.bars[0].key}."


def tell_key_changes(facts: Facts) -> Iterator[str]:
    for before, bar in pairwise(facts.bars):
        if bar.key != before.key:
            yield f"From bar {bar.number} on the key is {bar.key}."


def tell_capo(facts: Facts) -> Iterator[str]:
    capo = facts.arrangement.capo
    if capo:
        steps = f"{capo} semitone{'s' if capo > 1 else ''}"
        yield f"Capo at fret {roman(capo)}: all sounds {steps} higher than the page says."


def tell_tuning(facts: Facts) -> Iterator[str]:
    tuning = facts.arrangement.tuning
    for string in reversed(STRINGS):
        note = tuning.open_note(string)
        if note != STANDARD_TUNING.open_note(string):
            yield f"Tune string {string} to {_name_open(note)}."


def _name_open(note: int) -> PitchName:
    names = (PitchName.from_fifths(fifths) for fifths in _PLAINEST_FIFTHS)
    return next(name for name in names if name.pitch_class == note % 12)


def tell_meter(facts: Facts) -> Iterator[str]:
    meter = facts.bars[0].meter
    pulses = meter.bar_length / meter.pulse
    beats = f", {name_count(pulses)} beats in a bar" if meter.is_compound else ""
    yield f"Meter: {meter}{beats}."


def tell_meter_changes(facts: Facts) -> Iterator[str]:
    for before, bar in pairwise(facts.bars):
        if bar.meter != before.meter:
            yield f"From bar {bar.number} on the meter is {bar.meter}."


def tell_tempo(facts: Facts) -> Iterator[str]:
    pulse = facts.bars[0].meter.pulse
    per_minute = round(facts.arrangement.tempo_quarters_per_minute / pulse)
    yield f"Full tempo: {name_value(pulse)} = {per_minute}."


def tell_length(facts: Facts) -> Iterator[str]:
    minutes = playing_minutes(facts.bars, facts.arrangement.tempo_quarters_per_minute)
    played = len(play_order(facts.bars))
    written = len(facts.bars)
    repeats = f", {played} with the repeats" if played > written else ""
    yield f"Length: {written} bar{'s' if written > 1 else ''}{repeats}; {_name_minutes(minutes)}."


def _name_minutes(minutes: Fraction) -> str:
    seconds = round(minutes * 60)
    return f"{seconds // 60}:{seconds % 60:02d} at full tempo"


def tell_level(facts: Facts) -> Iterator[str]:
    yield f"Level: {facts.arrangement.level}."


def tell_beyond_level(facts: Facts) -> Iterator[str]:
    """The first in its own words, the others counted."""
    beyond = facts.studied.beyond_level
    if beyond:
        first = f"{beyond[0][0].lower()}{beyond[0][1:]}".removesuffix(".")
        more = f" (and {len(beyond) - 1} more)" if len(beyond) > 1 else ""
        yield f"Beyond it: {first}{more}."


def tell_positions(facts: Facts) -> Iterator[str]:
    positions = list_positions(facts.arrangement.notes)
    names = join_words([roman(position) for position in sorted(set(positions))])
    if facts.shifts:
        times = len(facts.shifts)
        farthest = max(facts.shifts, key=lambda shift: (shift.frets, -shift.onset))
        yield (
            f"Positions: {names}; the hand shifts {'once' if times == 1 else f'{times} times'}, farthest in "
            f"bar {bar_at(facts.bars, farthest.onset).number}, "
            f"from {roman(farthest.old_position)} to {roman(farthest.new_position)}."
        )
    elif positions:
        yield f"Position: {names} from first to last."


def tell_open_strings_only(facts: Facts) -> Iterator[str]:
    notes = facts.arrangement.notes
    if notes and all(note.place.is_open for note in notes):
        yield "Every note is an open string."


def tell_highest_fret(facts: Facts) -> Iterator[str]:
    stopped = [note for note in facts.arrangement.notes if not note.place.is_open]
    if stopped:
        highest = max(stopped, key=lambda note: (note.place.fret, -note.onset))
        bar = bar_at(facts.bars, highest.onset).number
        yield f"Highest fret: {highest.place.fret}, for {name_note(highest)} in bar {bar}."


def tell_barres(facts: Facts) -> Iterator[str]:
    barres = facts.barres
    if not barres:
        yield "Barres: none."
        return
    where: dict[str, list[str]] = {}
    for barre in barres:
        where.setdefault(name_barre(barre), []).append(bar_at(facts.bars, barre.span.onset).number)
    listed = join_words([f"{name} in {name_bars(bars)}" for name, bars in where.items()])
    longest = max(barres, key=lambda barre: barre.span.duration)
    yield f"Barres: {listed}; the longest lies for {_name_beats(facts.bars, longest)}."


def _name_beats(bars: tuple[Bar, ...], barre: Barre) -> str:
    pulse = bar_at(bars, barre.span.onset).meter.pulse
    count = barre.span.duration / pulse
    return f"{name_count(count)} beat{'s' if count > 1 else ''}"


def tell_stretch(facts: Facts) -> Iterator[str]:
    """Only what is wider than comfortable at the level."""
    stretches = facts.troubles[Cause.STRETCH]
    if stretches:
        widest = max(stretches, key=lambda trouble: trouble.amount)
        yield f"Widest stretch: bar {bar_at(facts.bars, widest.onset).number}, {widest.tell()}."


def tell_quickest(facts: Facts) -> Iterator[str]:
    """Only what is quicker than relaxed."""
    hurries = facts.troubles[Cause.SPEED]
    if hurries:
        most = max(hurry.amount for hurry in hurries)
        bars = dict.fromkeys(bar_at(facts.bars, each.onset).number for each in hurries if each.amount == most)
        where = name_bars(bars) if len(bars) <= MOST_LISTED else f"{len(bars)} of {len(facts.bars)} bars"
        yield f"Quickest strokes: {RELAXED_STROKES_PER_SECOND * (1 + most):.1f} a second, in {where}."


def tell_right_hand(facts: Facts) -> Iterator[str]:
    """The pattern of a bar that comes most often, if it comes often enough."""
    patterns = _bar_patterns(facts)
    counted = Counter(pattern for pattern in patterns.values() if "–" in pattern)
    pattern, times = counted.most_common(1)[0] if counted else ("", 0)
    if times >= FEWEST_BARS_OF_A_PATTERN:
        first = next(bar for bar, found in patterns.items() if found == pattern)
        yield (
            f"Right hand: {pattern} fills {times} of {len(facts.bars)} bars, first in bar {facts.bars[first].number}."
        )


def _bar_patterns(facts: Facts) -> Mapping[int, str]:
    """For each bar whose every note has a plucking finger its strokes in order: "pa–i–m–i"."""
    inside: dict[int, list[Note]] = {}
    for note in facts.arrangement.notes:
        inside.setdefault(bar_at(facts.bars, note.onset).index, []).append(note)
    return {
        index: "–".join(_name_stroke(stroke) for _, stroke in groupby(notes, key=lambda note: note.onset))
        for index, notes in sorted(inside.items())
        if all(note.pluck for note in notes)
    }


def _name_stroke(notes: Iterator[Note]) -> str:
    struck = {note.pluck for note in notes}
    return "".join(pluck for pluck in Pluck if pluck in struck)


ASKS: tuple[tuple[PieceRule, ...], ...] = (
    (tell_key, tell_key_changes, tell_capo, tell_tuning),
    (tell_meter, tell_meter_changes, tell_tempo, tell_length),
    (tell_level, tell_beyond_level),
    (tell_positions, tell_open_strings_only, tell_highest_fret),
    (tell_barres,),
    (tell_stretch,),
    (tell_quickest,),
    (tell_right_hand,),
)
"""The sentences that share an item, item by item."""
