"""The arranger: from a song and a plan to the arrangement in one key."""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import partial

from apoyando.arranging.as_played import price_as_played
from apoyando.arranging.asked_notes import add_asked_notes
from apoyando.arranging.assembly import (
    Played,
    accompaniment_note,
    add_plucks,
    collect_barres,
    collect_inner,
    collect_played,
    cut_to_written,
    melody_notes,
)
from apoyando.arranging.clashes import explain_clash
from apoyando.arranging.closing_harmonics import close_on_harmonics
from apoyando.arranging.dynamics import choose_dynamics
from apoyando.arranging.form import mark_ending
from apoyando.arranging.keys import best_octave, transposition_to
from apoyando.arranging.limits import keep_limits
from apoyando.arranging.locks import lock_song, mention_locks
from apoyando.arranging.losses import Written, find_given_up_holds, find_relaxations
from apoyando.arranging.melody import TransposedMelody, transpose_melody
from apoyando.arranging.plot import plot_voices
from apoyando.arranging.posed import PosedSong
from apoyando.arranging.preparation import PreparedSong, prepare_song
from apoyando.arranging.recurrence import find_recurrences
from apoyando.arranging.relief import find_wished_steps, relieve
from apoyando.arranging.ruler import Remake, Ruler
from apoyando.arranging.searchers import find_searcher
from apoyando.arranging.setting import Setting
from apoyando.arranging.simplification import simplify_melody
from apoyando.arranging.slices import BASS_VOICE, MELODY_VOICE, build_problem, cut_slices
from apoyando.arranging.texture import (
    BassDue,
    InnerDue,
    choose_textures,
    find_pace,
    join_sections,
    lay_textures,
)
from apoyando.arranging.tune_alone import finger_tune_alone
from apoyando.cores import beside
from apoyando.fingering import PROOF_ROUNDS, Candidate, NoWayError, Problem, Searcher, Solution
from apoyando.model.arrangement import (
    Arrangement,
    Note,
    Relaxation,
    RelaxationStep,
    Role,
    SearchSummary,
    TexturedBars,
)
from apoyando.model.errors import UsageError
from apoyando.model.instrument import TUNINGS, Tuning
from apoyando.model.level import Level
from apoyando.model.pitch import Interval, Key
from apoyando.model.plan import TEXTURES, Plan
from apoyando.model.prices import Prices
from apoyando.model.song import DEFAULT_TEMPO_QUARTERS_PER_MINUTE, Song


def arrange_in_key(
    song: Song,
    plan: Plan,
    level: Level,
    key: Key,
    *,
    proof_rounds: int = PROOF_ROUNDS,
    ruler: Ruler | None = None,
) -> Arrangement:
    """The song in one key: the cheapest arrangement by the stated prices that keeps the locks.

    With a ``ruler`` of difficulty bars that ask more than the level has are made easier, and the
    piece is no harder than at the next harder level.
    Raises UsageError for locks that cannot be kept, naming the fewest that clash.
    """
    ask_ceiling = _ask_next_level(song, plan, level, key, ruler) if ruler else None
    prepared = prepare_song(song, plan)
    posed, solution, searcher = _solve_in_key(prepared, level, key, proof_rounds)
    arrangement = _assemble(posed, solution, prepared)
    if ruler and ask_ceiling:
        remake = _remaker(posed, prepared, searcher, proof_rounds)
        arrangement = _keep_to_level(posed, prepared, arrangement, ruler, remake, ask_ceiling)
    arrangement = close_on_harmonics(arrangement, posed, plan.ending, plan.hand_size)
    return mark_ending(arrangement, plan.ending)


def _keep_to_level(
    posed: PosedSong,
    prepared: PreparedSong,
    arrangement: Arrangement,
    ruler: Ruler,
    remake: Remake,
    ask_ceiling: Callable[[], Sequence[float]] = tuple,
) -> Arrangement:
    """The arrangement with its limits kept and its hard bars made easier, and all that was done told."""
    kept = keep_limits(posed, arrangement, ruler, remake)
    wished = find_wished_steps(prepared)
    relieved = relieve(kept.posed, kept.arrangement, ruler.measure, remake, ask_ceiling(), wished)
    return kept.tell(relieved)


def _ask_next_level(
    song: Song, plan: Plan, level: Level, key: Key, ruler: Ruler
) -> Callable[[], Sequence[float]]:
    """The points of every bar of the piece at the next harder level, for the hand of this one.

    No time is spent on proving that piece optimal.
    """
    if not ruler.harder:
        return tuple
    next_level, *harder = ruler.harder
    asked = replace(plan, level=next_level.name)
    above = replace(ruler, harder=tuple(harder))
    return beside(partial(_measure_next_level, song, asked, (level, next_level), key, above))


def _measure_next_level(
    song: Song, plan: Plan, levels: tuple[Level, Level], key: Key, ruler: Ruler
) -> Sequence[float]:
    level, next_level = levels
    piece = arrange_in_key(song, plan, next_level, key, proof_rounds=0, ruler=ruler)
    return ruler.measure(piece, level)


def _remaker(posed: PosedSong, prepared: PreparedSong, searcher: Searcher, proof_rounds: int) -> Remake:
    """Answers questions that differ little from each other, and tries to prove what is final."""

    def remake(problem: Problem, *, is_final: bool) -> Arrangement:
        solution = searcher.find_best_way(problem, proof_rounds=proof_rounds if is_final else 0)
        return _assemble(replace(posed, problem=problem), solution, prepared)

    return remake


def price_in_key(song: Song, plan: Plan, level: Level, key: Key) -> int:
    """What the search asks for the song in one key. Raises as ``arrange_in_key``."""
    _, solution, _ = _solve_in_key(prepare_song(song, plan), level, key, 0)
    return solution.price


@dataclass(frozen=True, slots=True)
class KeptToLevel:
    """A song in one key as the level has it, and what it costs so: no less than what ``price_in_key`` finds."""

    arrangement: Arrangement
    price: int


def keep_to_level_in_key(song: Song, plan: Plan, level: Level, key: Key, ruler: Ruler) -> KeptToLevel:
    """The song as ``arrange_in_key`` makes it, to compare with other keys: at once, without a proof.

    The next harder level is not asked. The price is what the notes cost as they are then, and something
    for each bar that is beyond the level all the same, unless its tune alone is. Raises as ``arrange_in_key``.
    """
    prepared = prepare_song(song, plan)
    posed, solution, searcher = _solve_in_key(prepared, level, key, 0)
    remake = _remaker(posed, prepared, searcher, 0)
    before = _assemble(posed, solution, prepared)
    after = _keep_to_level(posed, prepared, before, ruler, remake)
    notes = solution.price if after is before else price_as_played(posed, after, searcher)
    beyond = _count_bars_beyond(after, ruler, level) * posed.setting.prices.bar_over_level
    return KeptToLevel(after, notes + beyond)


def _count_bars_beyond(arrangement: Arrangement, ruler: Ruler, level: Level) -> int:
    """Bars that ask more points than the level has, but for those whose tune alone does."""
    beyond = {each.onset for each in arrangement.relaxations if each.step is RelaxationStep.OVER_LEVEL}
    tune = finger_tune_alone(arrangement, level, ruler.hand_size) if beyond else None
    points = ruler.measure(tune, level) if tune else ()
    of_tune = {
        bar.onset
        for bar, asked in zip(arrangement.bars, points, strict=False)
        if asked > level.points_for(bar.span.duration)
    }
    return len(beyond - of_tune)


def _solve_in_key(
    prepared: PreparedSong, level: Level, key: Key, proof_rounds: int
) -> tuple[PosedSong, Solution, Searcher]:
    """The song posed, the search's answer, and the searcher, which may be asked for more."""
    plan = prepared.plan
    posed = pose_in_key(prepared.song, plan, level, key)
    searcher = find_searcher(posed.setting, plan.hand_size)
    solve = partial(searcher.find_best_way, proof_rounds=proof_rounds)
    try:
        locked = lock_song(posed, plan.locks)
        return locked, solve(locked.problem), searcher
    except NoWayError as error:
        raise explain_clash(posed, plan.locks, solve) or error from error


def pose_in_key(song: Song, plan: Plan, level: Level, key: Key) -> PosedSong:
    """What may sound when, for a song in one key; the plan's locks are not yet on it (``lock_song``).

    The song is one that has been prepared by the plan (``prepare_song``). Raises UsageError for
    a plan that cannot be meant.
    """
    tuning = check_plan(plan)
    prices = Prices().turned(plan.prices)
    simplified = simplify_melody(song, plan, level, prices)
    song = simplified.song
    octave = plan.melody_octave
    if octave is None:
        octave = best_octave(song, key, tuning, level, prices)
    interval = transposition_to(key, song, octave)
    tempo = song.tempo_quarters_per_minute or DEFAULT_TEMPO_QUARTERS_PER_MINUTE
    setting = Setting(tuning, level, prices, 60.0 / float(tempo), plan.capo)
    moved = _move_harmony(song, interval)
    highest = tuning.open_strings[0] + setting.last_fret
    melody = transpose_melody(replace(simplified, song=moved), interval, min(tuning.open_strings), highest)
    texture, textures = choose_textures(song, plan, level)
    laid = lay_textures(song, textures, find_pace(level, tempo), must_close=bool(plan.ending))
    windows = add_asked_notes([each.transposed(interval.fifths) for each in laid], moved, plan.locks)
    plot = plot_voices(melody.notes, windows, setting)
    slices = cut_slices(plot, song.duration)
    problem = build_problem(plot, slices, setting)
    if plan.same_fingering:
        problem = replace(problem, alike=find_recurrences(problem, slices, song.bars))
    return PosedSong(moved, setting, interval, melody, texture, textures, plot, slices, problem)


def check_plan(plan: Plan) -> Tuning:
    """The tuning that the plan names. Raises UsageError for a texture or a tuning that there is not."""
    for texture in (
        plan.texture or TEXTURES[0],
        *(section.texture or TEXTURES[0] for section in plan.sections),
    ):
        if texture not in TEXTURES:
            raise UsageError(f"texture {texture!r} is not known; there are: {', '.join(TEXTURES)}.")
    if plan.tuning not in TUNINGS:
        raise UsageError(f"tuning {plan.tuning!r} is not known; there are: {', '.join(TUNINGS)}.")
    return TUNINGS[plan.tuning]


def _move_harmony(song: Song, interval: Interval) -> Song:
    """The song with its chords and signatures in the new key; the melody as it was."""
    return replace(
        song,
        bars=tuple(replace(bar, key=bar.key.transposed(interval.fifths)) for bar in song.bars),
        harmony=tuple(
            replace(span, chord=span.chord.transposed(interval.fifths) if span.chord else None)
            for span in song.harmony
        ),
    )


def _assemble(posed: PosedSong, solution: Solution, prepared: PreparedSong) -> Arrangement:
    """The arrangement that the search's answer stands for, with all that it gave up."""
    song, plan = posed.song, prepared.plan
    plot, slices = posed.plot, posed.slices
    chosen = cut_to_written(plot, slices, solution.slices)
    melody = collect_played(slices, chosen, MELODY_VOICE)
    bass = collect_played(slices, chosen, BASS_VOICE)
    inner = collect_inner(plot, slices, chosen)
    notes = [
        *melody_notes(melody, posed.melody),
        *_accompaniment(Role.BASS, bass, plot.bass),
        *_accompaniment(Role.INNER, inner, plot.inner),
    ]
    return Arrangement(
        title=song.title,
        composer=song.composer,
        lyricist=song.lyricist,
        rights=song.rights,
        key=song.key,
        transposition=posed.interval,
        tuning=posed.setting.tuning,
        capo=plan.capo,
        level=plan.level,
        texture=posed.texture,
        tempo_quarters_per_minute=song.tempo_quarters_per_minute or DEFAULT_TEMPO_QUARTERS_PER_MINUTE,
        tempo_words=song.tempo_words,
        bars=song.bars,
        notes=add_plucks(notes, song.bars, posed.setting),
        barres=collect_barres(slices, chosen),
        harmony=song.harmony,
        search=SearchSummary(solution.price, solution.lower_bound, solution.is_optimal),
        sections=tuple(
            TexturedBars(first.number, last.number, texture)
            for first, last, texture in join_sections(song.bars, posed.textures)
        ),
        melody_changes=posed.melody.changes,
        relaxations=(
            *_melody_relaxations(posed.melody),
            *mention_locks(find_relaxations(plot, bass, inner, song.bars), posed),
        ),
        given_up_holds=find_given_up_holds(
            Written(plot, slices, solution.slices, chosen, song.bars), bass, inner
        ),
        form=prepared.form,
        dynamics=choose_dynamics(notes),
        is_arranged=True,
    )


def _accompaniment(
    role: Role, played: Iterable[Played], entries: Sequence[tuple[BassDue | InnerDue, Sequence[Candidate]]]
) -> Iterator[Note]:
    for note in played:
        due, candidates = entries[note.entry]
        yield accompaniment_note(note, role, due.chord, candidates[note.candidate].note)


def _melody_relaxations(melody: TransposedMelody) -> tuple[Relaxation, ...]:
    return tuple(
        Relaxation(RelaxationStep.MELODY_OCTAVE, change.bar, change.onset, change.reason)
        for change in melody.folded
    )
