"""The arranger: from a song and a plan to the arrangement, in one key or the best of twelve."""

from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace
from functools import partial
from os import cpu_count
from signal import SIG_IGN, SIGINT, signal

from apoyando.arranging.assembly import (
    Played,
    accompaniment_note,
    add_plucks,
    collect_barres,
    collect_played,
    melody_notes,
)
from apoyando.arranging.clashes import explain_clash
from apoyando.arranging.keys import best_octave, key_named, signature_price, transposition_to, twelve_keys
from apoyando.arranging.locks import lock_song, mention_locks
from apoyando.arranging.losses import find_given_up_holds, find_relaxations
from apoyando.arranging.melody import TransposedMelody, transpose_melody
from apoyando.arranging.posed import PosedSong
from apoyando.arranging.recurrence import find_recurrences
from apoyando.arranging.slices import Setting, build_problem, cut_slices, plot_voices
from apoyando.arranging.texture import BassDue, InnerDue, lay_texture, motion_unit
from apoyando.fingering import PROOF_ROUNDS, Candidate, NoWayError, Problem, Solution, find_best_way
from apoyando.model.arrangement import Arrangement, Note, Relaxation, RelaxationStep, Role, SearchSummary
from apoyando.model.errors import UsageError
from apoyando.model.instrument import TUNINGS, Tuning
from apoyando.model.level import Level
from apoyando.model.locks import is_of_one_key
from apoyando.model.pitch import Interval, Key
from apoyando.model.plan import TEXTURES, Plan
from apoyando.model.prices import Prices
from apoyando.model.song import DEFAULT_TEMPO_QUARTERS_PER_MINUTE, Song


@dataclass(frozen=True, slots=True, kw_only=True)
class KeyComparison:
    """What the song costs in one key. ``price`` includes reading the signature."""

    key: Key
    price: float
    open_basses: int
    barres: int
    highest_fret: int
    arrangement: Arrangement


def arrange_song(song: Song, plan: Plan, level: Level) -> Arrangement:
    """The song for one guitar, in the plan's key or else in the cheapest of the twelve.

    Raises UsageError for a plan that cannot be meant, locks of one key without a key among them.
    """
    if plan.key:
        return arrange_in_key(song, plan, level, key_named(plan.key, song))
    _check_locks_need_no_key(song, plan)
    cheapest = min(compare_keys(song, plan, level), key=lambda comparison: comparison.price)
    return arrange_in_key(song, plan, level, cheapest.key)


def compare_keys(song: Song, plan: Plan, level: Level) -> tuple[KeyComparison, ...]:
    """The song in each of the twelve keys, in the order of the signatures.

    Locks that speak of notes and places belong to one key, and are left aside.
    """
    _check(plan)
    plan = replace(plan, locks=tuple(lock for lock in plan.locks if not is_of_one_key(lock)))
    prices = Prices().turned(plan.prices)
    comparisons: list[KeyComparison] = []
    # No proof for each key that bars which come again could not be played alike for less.
    arrange = partial(arrange_in_key, song, plan, level, proof_rounds=0)
    for key, arrangement in _in_all_keys(arrange, twelve_keys(song)):
        comparisons.append(_compare(song, key, arrangement, prices))
    return tuple(comparisons)


def _check_locks_need_no_key(song: Song, plan: Plan) -> None:
    for lock in plan.locks:
        if is_of_one_key(lock):
            raise UsageError(
                f'The lock "{lock}" belongs to one key, and the plan names none. Write the key of the page '
                f'that you look at into the plan: key = "{song.key.tonic}" or the like.'
            )


def _in_all_keys(
    arrange: Callable[[Key], Arrangement], keys: Sequence[Key]
) -> Iterable[tuple[Key, Arrangement]]:
    """Side by side on all cores. The helpers leave it to this process to be stopped by the player."""
    workers = min(cpu_count() or 1, len(keys))
    if workers == 1:
        yield from ((key, arrange(key)) for key in keys)
        return
    with ProcessPoolExecutor(workers, initializer=signal, initargs=(SIGINT, SIG_IGN)) as pool:
        yield from zip(keys, pool.map(arrange, keys), strict=True)


def _compare(song: Song, key: Key, arrangement: Arrangement, prices: Prices) -> KeyComparison:
    basses = arrangement.voice(Role.BASS)
    return KeyComparison(
        key=key,
        price=arrangement.search.price + signature_price(song, key, prices),
        open_basses=sum(note.place.is_open for note in basses),
        barres=len(arrangement.barres),
        highest_fret=max((note.place.fret for note in arrangement.notes), default=0),
        arrangement=arrangement,
    )


def arrange_in_key(
    song: Song, plan: Plan, level: Level, key: Key, *, proof_rounds: int = PROOF_ROUNDS
) -> Arrangement:
    """The song in one key: the cheapest arrangement by the stated prices that keeps the locks.

    Raises UsageError for locks that cannot be kept, naming the fewest that clash.
    """
    posed = pose_in_key(song, plan, level, key)
    solve = partial(_solve, posed.setting, plan.hand_size, proof_rounds)
    try:
        locked = lock_song(posed, plan.locks)
        return _assemble(locked, plan, solve(locked.problem))
    except NoWayError as error:
        raise explain_clash(posed, plan.locks, solve) or error from error


def _solve(setting: Setting, hand_size: float, proof_rounds: int, problem: Problem) -> Solution:
    return find_best_way(
        problem,
        tuning=setting.tuning,
        # Small barres would save a 500th of the price, and a reader of the page cannot tell them
        # from a finger in two places.
        level=replace(setting.level, small_barres=False),
        prices=setting.prices,
        hand_size=hand_size,
        proof_rounds=proof_rounds,
    )


def pose_in_key(song: Song, plan: Plan, level: Level, key: Key) -> PosedSong:
    """What may sound when, for a song in one key; the plan's locks are not yet on it (``lock_song``).

    Raises UsageError for a plan that cannot be meant.
    """
    tuning = _check(plan)
    prices = Prices().turned(plan.prices)
    octave = plan.melody_octave
    if octave is None:
        octave = best_octave(song, key, tuning, level, prices)
    interval = transposition_to(key, song, octave)
    tempo = song.tempo_quarters_per_minute or DEFAULT_TEMPO_QUARTERS_PER_MINUTE
    setting = Setting(tuning, level, prices, 60.0 / float(tempo), plan.capo)
    moved = _move_harmony(song, interval)
    highest = tuning.open_strings[0] + setting.last_fret
    melody = transpose_melody(moved, interval, min(tuning.open_strings), highest)
    windows = lay_texture(moved, melody.notes, motion_unit(tempo))
    plot = plot_voices(melody.notes, windows, setting)
    slices = cut_slices(plot, song.duration)
    problem = build_problem(plot, slices, setting)
    if plan.same_fingering:
        problem = replace(problem, alike=find_recurrences(problem, slices, song.bars))
    return PosedSong(moved, setting, interval, melody, plot, slices, problem)


def _check(plan: Plan) -> Tuning:
    if plan.texture not in TEXTURES:
        raise UsageError(f"texture {plan.texture!r} is not known; there is: {', '.join(TEXTURES)}.")
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


def _assemble(posed: PosedSong, plan: Plan, solution: Solution) -> Arrangement:
    """The arrangement that the search's answer stands for, with all that it gave up."""
    song, plot, slices, chosen = posed.song, posed.plot, posed.slices, solution.slices
    bass = collect_played(slices, chosen, Role.BASS)
    inner = collect_played(slices, chosen, Role.INNER)
    melody = collect_played(slices, chosen, Role.MELODY)
    notes = [
        *melody_notes(melody, plot.melody),
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
        texture=plan.texture,
        tempo_quarters_per_minute=song.tempo_quarters_per_minute or DEFAULT_TEMPO_QUARTERS_PER_MINUTE,
        tempo_words=song.tempo_words,
        bars=song.bars,
        notes=add_plucks(notes, song.bars, posed.setting),
        barres=collect_barres(slices, chosen),
        harmony=song.harmony,
        search=SearchSummary(solution.price, solution.lower_bound, solution.is_optimal),
        melody_changes=posed.melody.changes,
        relaxations=(
            *_melody_relaxations(posed.melody),
            *mention_locks(find_relaxations(plot, bass, inner, song.bars), posed),
        ),
        given_up_holds=find_given_up_holds(plot, bass, slices, chosen, song.bars),
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
        for change in melody.changes
    )
