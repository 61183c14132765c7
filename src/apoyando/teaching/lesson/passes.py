"""The passes of practice in order: each step of the list, sentence by sentence.

The order is common practice, without a published source: the melody joined; the accompaniment
softly; once through for the holds; the hard bars; up to tempo.
"""

from collections.abc import Iterator, Sequence
from fractions import Fraction
from itertools import pairwise
from math import ceil, log

from apoyando.model.arrangement import AS_WRITTEN, Note, Role
from apoyando.model.hand import Finger
from apoyando.model.harmony import Chord, chord_tones
from apoyando.model.note_values import name_value
from apoyando.model.song import bar_at
from apoyando.model.time import Quarters
from apoyando.teaching.lesson.facts import Facts, PieceRule
from apoyando.teaching.points import HARD_POINTS, RELAXED_STROKES_PER_SECOND, Cause
from apoyando.teaching.wording import (
    MOST_BARS_LISTED,
    MOST_LISTED,
    join_words,
    list_some,
    name_bars,
    name_place,
)

START_OF_RELAXED = 0.75
"""At the first rung of the ladder the quickest strokes come at this share of the relaxed rate …"""
SLOWEST_START, FASTEST_START = 0.5, 0.8
"""… but no slower and no faster than so much of the full tempo (estimates, to be tuned by teachers)."""
_TEXTURE_NAMES = {"bare": "basses alone", "sustained": "sustained chords"}
"""Those whose name as an option says too little to a student."""
RUNG = 1.13
"""From rung to rung of the ladder, about: two notches of a metronome (common practice, no source)."""


def tell_melody(facts: Facts) -> Iterator[str]:
    melody = _melody(facts)
    if melody:
        yield f"The melody alone, each note until the next: {_tell_rests(facts, melody)}."


def _tell_rests(facts: Facts, melody: Sequence[Note]) -> str:
    pairs = pairwise(melody)
    bars = dict.fromkeys(bar_at(facts.bars, one.offset).number for one, other in pairs if _rests(one, other))
    if not bars:
        return "it has no rest"
    if len(bars) > MOST_BARS_LISTED:
        return f"it rests in {len(bars)} of {len(facts.bars)} bars"
    return f"it rests only in {name_bars(bars)}"


def _melody(facts: Facts) -> list[Note]:
    return sorted(facts.arrangement.voice(Role.MELODY), key=lambda note: note.onset)


def _rests(one: Note, other: Note) -> bool:
    return one.offset < other.onset


def tell_same_finger(facts: Facts) -> Iterator[str]:
    """Where one finger takes two notes in a row on two strings: there the line breaks easily."""
    jumps = [(one, other) for one, other in pairwise(_melody(facts)) if _jumps(one, other)]
    if jumps:
        told = [
            f"{name_place(facts.bars, other.onset)} (finger {other.finger:d}, {one.pitch.name} to {other.pitch.name})"
            for one, other in jumps
        ]
        yield f"One finger takes two notes in a row on two strings: {list_some(told)}."


def _jumps(one: Note, other: Note) -> bool:
    return (
        one.finger is other.finger is not Finger.OPEN
        and one.place.string != other.place.string
        and not (one.in_barre and other.in_barre)
        and not _rests(one, other)
    )


def tell_accompaniment(facts: Facts) -> Iterator[str]:
    arrangement = facts.arrangement
    if not arrangement.voice(Role.BASS, Role.INNER):
        return
    sections = arrangement.sections
    if len(sections) > 1:
        how = join_words([f"{_name_texture(s.texture)} from bar {s.bar} to {s.to_bar}" for s in sections])
    elif arrangement.texture == AS_WRITTEN:
        how = ""
    else:
        how = _name_texture(arrangement.texture)
    yield f"Add the accompaniment, softer than the melody{f': {how}' if how else ''}."


def _name_texture(texture: str) -> str:
    return _TEXTURE_NAMES.get(texture, texture.replace("-", " "))


def tell_damping(facts: Facts) -> Iterator[str]:
    """Open basses that would ring on into a chord that does not have their tone."""
    basses = sorted(facts.arrangement.voice(Role.BASS), key=lambda note: note.onset)
    told = [
        f"string {one.place.string} in bar {bar_at(facts.bars, other.onset).number}"
        for one, other in pairwise(basses)
        if _rings_into(facts, one, other)
    ]
    if told:
        yield f"Damp open basses that the next chord does not have: {list_some(told)}."


def _rings_into(facts: Facts, one: Note, other: Note) -> bool:
    """Whether the next bass is struck on another string, under a chord without the open string's tone."""
    chord = _chord_at(facts, other.onset)
    if chord is None or not one.place.is_open or other.place.string == one.place.string:
        return False
    return one.pitch.name.pitch_class not in {tone.name.pitch_class for tone in chord_tones(chord)}


def _chord_at(facts: Facts, moment: Quarters) -> Chord | None:
    return next((span.chord for span in facts.arrangement.harmony if span.span.contains(moment)), None)


def tell_holds(facts: Facts) -> Iterator[str]:
    """In how many bars fingers stay while others are set down, and in which most."""
    holding = [each for each in facts.studied.difficulties if each.parts[Cause.HOLDS]]
    if holding:
        most = sorted(holding, key=lambda each: (-each.parts[Cause.HOLDS], each.index))[:MOST_LISTED]
        bars = name_bars(each.bar for each in sorted(most, key=lambda each: each.index))
        where = (
            bars
            if len(holding) <= MOST_LISTED
            else f"{len(holding)} of {len(facts.bars)} bars, most in {bars}"
        )
        yield f"Once through for the holds only: a finger stays while another is set down in {where}."


def tell_given_up(facts: Facts) -> Iterator[str]:
    """Notes written shorter than the music would have them."""
    given_up = facts.arrangement.given_up_holds
    if given_up:
        told = [f"{each.pitch.name} in {name_place(facts.bars, each.onset)}" for each in given_up]
        yield f"Written shorter than the music would have it: {list_some(told)}."


def tell_hard_bars(facts: Facts) -> Iterator[str]:
    hard = [each.bar for each in facts.bars_to_practise if each.difficulty >= HARD_POINTS]
    if hard:
        yield f"The hard bars by themselves, hardest first, each from the bar before it: {name_bars(hard)}."


def tell_next_bars(facts: Facts) -> Iterator[str]:
    """Bars that ask most without being hard, where few or none are hard."""
    others = [each.bar for each in facts.bars_to_practise if each.difficulty < HARD_POINTS]
    if others and len(others) < len(facts.bars_to_practise):
        yield f"Not hard, but next to them: {name_bars(others)}."
    elif others:
        yield f"No bar is hard; these ask most, each from the bar before it: {name_bars(others)}."


def tell_ladder(facts: Facts) -> Iterator[str]:
    pulse = facts.bars[0].meter.pulse
    rungs = climb(facts.arrangement.tempo_quarters_per_minute / pulse, _quickest_per_second(facts))
    ladder = " – ".join(map(str, rungs))
    yield f"Up to tempo, {_name_pulses(pulse)} a minute: {ladder}."


def _name_pulses(pulse: Quarters) -> str:
    return name_value(pulse, 2)


def tell_speed(facts: Facts) -> Iterator[str]:
    """How quick the quickest strokes are on the first rung and on the last."""
    quickest = _quickest_per_second(facts)
    if quickest > RELAXED_STROKES_PER_SECOND:
        full = facts.arrangement.tempo_quarters_per_minute / facts.bars[0].meter.pulse
        first, *_, last = climb(full, quickest)
        at_first = quickest * first / float(full)
        yield f"At {first} the quickest strokes come {at_first:.1f} a second, at {last} {quickest:.1f}."


def _quickest_per_second(facts: Facts) -> float:
    """At full tempo; 0 where there are not two strokes."""
    gaps = [other.onset - one.onset for one, other in pairwise(facts.strokes)]
    per_quarter = facts.arrangement.tempo_quarters_per_minute / 60
    return float(per_quarter / min(gaps)) if gaps else 0.0


def climb(full: Fraction, quickest_per_second: float) -> tuple[int, ...]:
    """The rungs of a tempo ladder in beats a minute, up to the full tempo.

    Law: they rise, and the last is ``full``, rounded.
    """
    relaxed = (
        START_OF_RELAXED * RELAXED_STROKES_PER_SECOND / quickest_per_second if quickest_per_second else 1.0
    )
    share = min(FASTEST_START, max(SLOWEST_START, relaxed))
    steps = ceil(log(1 / share) / log(RUNG))
    rungs = (round(float(full) * share ** (1 - step / steps)) for step in range(steps + 1))
    return tuple(dict.fromkeys(rungs))


def tell_next_rung(facts: Facts) -> Iterator[str]:
    if facts.bars_to_practise:
        bars = name_bars(hard.bar for hard in facts.bars_to_practise)
        yield f"Take the next one when {bars} went well twice in a row."


PASSES: tuple[tuple[PieceRule, ...], ...] = (
    (tell_melody, tell_same_finger),
    (tell_accompaniment, tell_damping),
    (tell_holds, tell_given_up),
    (tell_hard_bars, tell_next_bars),
    (tell_ladder, tell_speed, tell_next_rung),
)
"""The sentences of each step, step by step."""
