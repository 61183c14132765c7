"""A song in one key with the search's answer: who is asked, and the arrangement that the answer stands for."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import partial

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
from apoyando.arranging.dynamics import choose_dynamics
from apoyando.arranging.locks import lock_song, mention_locks
from apoyando.arranging.losses import Written, find_given_up_holds, find_relaxations
from apoyando.arranging.melody import TransposedMelody
from apoyando.arranging.posed import PosedSong
from apoyando.arranging.posing import pose_in_key
from apoyando.arranging.preparation import PreparedSong, prepare_song
from apoyando.arranging.searchers import find_searcher
from apoyando.arranging.slices import BASS_VOICE, MELODY_VOICE
from apoyando.arranging.texture import BassDue, InnerDue, join_sections
from apoyando.fingering import Candidate, NoWayError, Problem, Searcher, Solution
from apoyando.model.arrangement import (
    Arrangement,
    Note,
    Relaxation,
    RelaxationStep,
    Role,
    SearchSummary,
    TexturedBars,
)
from apoyando.model.level import Level
from apoyando.model.pitch import Key
from apoyando.model.plan import Plan
from apoyando.model.song import DEFAULT_TEMPO_QUARTERS_PER_MINUTE, Song


@dataclass(frozen=True, slots=True)
class SolvedSong:
    """A song in one key, the search's answer, and who gave it. ``posed`` has the plan's locks on it."""

    prepared: PreparedSong
    posed: PosedSong
    searcher: Searcher
    solution: Solution

    def ask(self, problem: Problem, proof_rounds: int) -> "SolvedSong":
        """The answer to another question about it; one that differs little is answered at once. Raises NoWayError."""
        solution = self.searcher.find_best_way(problem, proof_rounds=proof_rounds)
        return replace(self, posed=replace(self.posed, problem=problem), solution=solution)

    def arrange(self) -> Arrangement:
        """The arrangement that the answer stands for, with all that it gave up."""
        return _assemble(self)


def solve_in_key(song: Song, plan: Plan, level: Level, key: Key, proof_rounds: int) -> SolvedSong:
    """The song by the plan, with its locks.

    Raises UsageError for a plan that cannot be meant, and for locks that cannot be kept, naming the fewest that clash.
    """
    prepared = prepare_song(song, plan)
    plan = prepared.plan
    posed = pose_in_key(prepared.song, plan, level, key)
    searcher = find_searcher(posed.setting, plan.hand_size)
    solve = partial(searcher.find_best_way, proof_rounds=proof_rounds)
    try:
        locked = lock_song(posed, plan.locks)
        return SolvedSong(prepared, locked, searcher, solve(locked.problem))
    except NoWayError as error:
        raise explain_clash(posed, plan.locks, solve) or error from error


def _assemble(solved: SolvedSong) -> Arrangement:
    posed, solution, prepared = solved.posed, solved.solution, solved.prepared
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
