"""Fingering a score that is there: every string, finger and plucking letter that it leaves open."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from apoyando.arranging.assembly import add_plucks, collect_barres
from apoyando.arranging.scores.easing import Way, find_way, widest_level
from apoyando.arranging.scores.given import Question, pose
from apoyando.arranging.scores.kept_plucks import keep_plucks
from apoyando.arranging.scores.let_go import (
    Answer,
    find_barres_let_go,
    find_guides_let_go,
    find_left_out,
    find_let_go,
    find_over_level,
    find_shortened,
)
from apoyando.arranging.scores.playing import PlayedSound, collect_sounds
from apoyando.arranging.scores.sounds import Excess, Sound, find_roles, fit_strings, gather_sounds
from apoyando.arranging.scores.wishes import make_wish
from apoyando.arranging.setting import Setting
from apoyando.arranging.touched import find_too_far, lift_touches
from apoyando.model.arrangement import (
    AS_WRITTEN,
    Arrangement,
    Barre,
    MelodyChange,
    Note,
    Relaxation,
    Role,
    SearchSummary,
)
from apoyando.model.errors import UsageError
from apoyando.model.instrument import LAST_FRET, TUNINGS, Tuning
from apoyando.model.level import Level
from apoyando.model.pitch import Interval, Pitch
from apoyando.model.plan import Plan
from apoyando.model.prices import Prices
from apoyando.model.score import Score
from apoyando.model.song import DEFAULT_TEMPO_QUARTERS_PER_MINUTE, bar_at
from apoyando.model.time import Span

_OCTAVES = (0, -1, 1, -2, 2, -3, 3)
_SHARE_OUTSIDE = 10
"""A piece is moved by octaves if more than a tenth of its notes lie outside the guitar's range."""


@dataclass(frozen=True, slots=True)
class Fingered:
    """A fingered score, and the level that the hand was held to: the one asked for, or wider."""

    arrangement: Arrangement
    level: Level


@dataclass(frozen=True, slots=True)
class _Task:
    """A score in the octave in which it is played, and who of it can be played at all."""

    score: Score
    octaves: int
    plan: Plan
    setting: Setting
    question: Question
    excess: tuple[Excess, ...]
    off_the_board: tuple[Sound, ...]
    too_far: tuple[Sound, ...]


def finger_score(score: Score, plan: Plan, levels: Mapping[str, Level]) -> Fingered:
    """The score with a place, a finger and a plucking letter for every note.

    What the score says of the hands is kept; what cannot be is let go, note by note, and
    each is a relaxation. Notes that no hand reaches are left out and named. ``plan`` gives
    level, tuning, capo, size of the hand and prices, and must name a level of ``levels``.
    Raises UsageError for a plan that cannot be meant.
    """
    too_far: frozenset[Sound] = frozenset()
    while True:
        task = _pose(score, plan, levels[plan.level], too_far)
        wide = widest_level(task.setting.level, levels.values())
        way = find_way(task.question, task.score.bars, task.setting, wide, plan.hand_size)
        fingered = Fingered(_assemble(task, way), way.level)
        farther = find_too_far(fingered.arrangement.notes, way.level, plan.hand_size)
        if not farther:
            return fingered
        struck = {(note.onset, note.pitch.midi) for note in farther}
        too_far |= {sound for sound in task.question.sounds if (sound.onset, sound.midi) in struck}


def _pose(score: Score, plan: Plan, level: Level, too_far: frozenset[Sound]) -> _Task:
    if plan.locks:
        raise UsageError("locks are for songs: write the fingering into the score, and it is kept.")
    if plan.tuning not in TUNINGS:
        raise UsageError(f"tuning {plan.tuning!r} is not known; there are: {', '.join(TUNINGS)}.")
    tuning = TUNINGS[plan.tuning]
    octaves = _choose_octaves(score, tuning, plan.capo)
    moved = _moved(score, octaves)
    tempo = score.tempo_quarters_per_minute or DEFAULT_TEMPO_QUARTERS_PER_MINUTE
    sounds, excess = fit_strings(gather_sounds(moved))
    wishes = {
        sound: make_wish(sound.midi, sound.given, tuning, plan.capo, is_harmonic=sound.is_harmonic)
        for sound in sounds
    }
    reachable = [sound for sound in sounds if wishes[sound].strings and sound not in too_far]
    return _Task(
        score=moved,
        octaves=octaves,
        plan=plan,
        setting=Setting(tuning, level, Prices().turned(plan.prices), 60.0 / float(tempo)),
        question=pose(reachable, [wishes[sound] for sound in reachable], moved),
        excess=excess,
        off_the_board=tuple(sound for sound in sounds if not wishes[sound].strings),
        too_far=tuple(sound for sound in sounds if sound in too_far),
    )


# --- octave --------------------------------------------------------------------------


def _choose_octaves(score: Score, tuning: Tuning, capo: int) -> int:
    """By how many octaves the piece is moved; places that are written keep it where it is."""
    lowest, highest = min(tuning.open_strings), max(tuning.open_strings) + LAST_FRET - capo

    def outside(octaves: int) -> int:
        stopped = (note for note in score.notes if not note.is_harmonic)
        return sum(not lowest <= note.pitch.midi + 12 * octaves <= highest for note in stopped)

    says_places = any(note.given.string is not None or note.given.fret is not None for note in score.notes)
    if says_places or outside(0) * _SHARE_OUTSIDE <= len(score.notes):
        return 0
    return min(_OCTAVES, key=outside)


def _moved(score: Score, octaves: int) -> Score:
    return replace(
        score,
        notes=tuple(
            replace(note, pitch=Pitch(note.pitch.name, note.pitch.octave + octaves)) for note in score.notes
        ),
    )


def _describe_octave(task: _Task) -> Iterator[MelodyChange]:
    if task.octaves:
        first = task.score.notes[0]
        old = Pitch(first.pitch.name, first.pitch.octave - task.octaves)
        yield MelodyChange(
            bar=bar_at(task.score.bars, first.onset).number,
            onset=first.onset,
            old=str(old),
            new=str(first.pitch),
            reason="too much lay outside the guitar's range: the whole piece is in another octave",
        )


# --- the answer ----------------------------------------------------------------------


def _assemble(task: _Task, way: Way) -> Arrangement:
    score, question, chosen = task.score, task.question, way.solution.slices
    played, silent = collect_sounds(question, chosen)
    answer = Answer(score, question.sounds, question.slices, chosen, played)
    notes, barres = lift_touches(_notes(task, played), collect_barres(question.slices, chosen))
    return Arrangement(
        title=score.title,
        composer=score.composer,
        lyricist=score.lyricist,
        rights=score.rights,
        key=score.key,
        transposition=Interval(0, 12 * task.octaves),
        tuning=task.setting.tuning,
        capo=task.plan.capo,
        level=task.plan.level,
        texture=AS_WRITTEN,
        tempo_quarters_per_minute=score.tempo_quarters_per_minute or DEFAULT_TEMPO_QUARTERS_PER_MINUTE,
        tempo_words=score.tempo_words,
        bars=score.bars,
        notes=notes,
        barres=barres,
        harmony=score.harmony,
        search=SearchSummary(way.solution.price, way.solution.lower_bound, way.solution.is_optimal),
        melody_changes=tuple(_describe_octave(task)),
        relaxations=_relaxations(task, answer, silent, way, notes, barres),
        given_up_holds=find_shortened(answer),
        dynamics=score.dynamics,
        arranger=score.arranger,
        is_arranged=score.is_arranged,
        diagrams=score.diagrams,
    )


def _relaxations(
    task: _Task,
    answer: Answer,
    silent: Iterable[Sound],
    way: Way,
    notes: tuple[Note, ...],
    barres: tuple[Barre, ...],
) -> tuple[Relaxation, ...]:
    unstruck = [excess.sound for excess in task.excess if excess.moment == excess.sound.onset]
    found = [
        *find_let_go(answer),
        *find_barres_let_go(task.score, barres),
        *find_guides_let_go(task.score, notes),
        *find_left_out(task.score, task.off_the_board, "the guitar does not have this note in this tuning"),
        *find_left_out(task.score, task.too_far, "the hand does not reach its node from what it holds"),
        *find_left_out(task.score, unstruck, "a guitar has six strings"),
        *find_left_out(task.score, silent, "no hand reaches it while it sounds the others"),
    ]
    if way.level != task.setting.level:
        found += find_over_level(answer, task.setting.level, task.plan.hand_size)
    return tuple(sorted(found, key=lambda relaxation: relaxation.onset))


# --- notes ---------------------------------------------------------------------------


def _notes(task: _Task, played: Sequence[PlayedSound]) -> tuple[Note, ...]:
    """All written notes that are played; of a unison each with its own length."""
    roles = find_roles(task.score)
    leads = [_note(task.score, each, each.sound.notes[0], roles) for each in played]
    written = {each.sound.notes[0]: each.sound.given.pluck for each in played if each.sound.given.pluck}
    plucked = keep_plucks(add_plucks(leads, task.score.bars, task.setting), written)
    plucks = {note.source: note.pluck for note in plucked}
    doubles = [
        replace(_note(task.score, each, index, roles), pluck=plucks[each.sound.notes[0]])
        for each in played
        for index in each.sound.notes[1:]
    ]
    return tuple(sorted((*plucked, *doubles), key=lambda note: (note.onset, -note.place.string)))


def _note(score: Score, played: PlayedSound, index: int, roles: Sequence[Role]) -> Note:
    written, given = score.notes[index], played.sound.given
    return Note(
        role=roles[index],
        span=Span(written.onset, min(written.offset, played.until)),
        pitch=written.pitch,
        place=played.touch.place,
        finger=played.touch.finger,
        in_barre=played.in_barre,
        source=index,
        lyrics=written.lyrics,
        has_fermata=written.has_fermata,
        is_rolled=written.is_rolled,
        is_harmonic=written.is_harmonic,
        lets_ring=written.lets_ring,
        is_guided=given.is_guided if given.finger in (None, played.touch.finger) else None,
        has_hold_line=written.has_hold_line,
    )
