"""What else could be done with a note or a bar, and what it would cost.

Each way is tried as a lock: the whole piece is solved around it, and what it costs more than
the piece without it is its price. So a place that is awkward only because of what follows
shows that too.

The pieces are compared with each bar fingered for itself and no bar eased, so that a note's
thirty ways are weighed at once; prices are those of ``docs/objective.md``.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from apoyando.arranging.assembly import spell_in_chord
from apoyando.arranging.lock_places import entries_there, list_candidates, list_onsets
from apoyando.arranging.locks import lock_song
from apoyando.arranging.posed import PosedSong
from apoyando.arranging.posing import pose_in_key
from apoyando.arranging.preparation import prepare_song
from apoyando.arranging.searchers import find_searcher
from apoyando.fingering import NoWayError, Searcher
from apoyando.model.arrangement import Role
from apoyando.model.beat import find_beat
from apoyando.model.hand import FINGERS, Finger
from apoyando.model.instrument import Place
from apoyando.model.level import Level
from apoyando.model.locks import Lock, NoteLock, PositionLock, Stretch
from apoyando.model.pitch import Key, Pitch
from apoyando.model.plan import Plan
from apoyando.model.song import Song

POSITIONS = range(1, 13)
"""Beyond the twelfth fret the body is in the way of a whole hand."""


@dataclass(frozen=True, slots=True)
class Alternative:
    """A way to play a note or a bar. ``lock`` is what settles it in a plan.

    ``price``: what the piece costs more with it than as it is; less than nothing where a lock
    on it is let go. ``pitch`` is the note that it sounds, None for a bar.
    """

    lock: NoteLock | PositionLock
    price: int
    pitch: Pitch | None = None


def weigh_note(
    song: Song, plan: Plan, level: Level, key: Key, note: NoteLock, beside: Sequence[NoteLock] = ()
) -> tuple[Alternative, ...]:
    """Every place and finger for a note, the cheapest first; what no hand can do is not among them.

    ``note`` names bar, beat and voice. A note of the tune keeps its pitch, one of the
    accompaniment may be any tone that it might have been, or be left out; an inner note may also
    be one that is not struck yet. Locks of the plan on the same note are let go, all others are
    kept; ``beside`` are locks on the notes struck together with it, which stay as they are.
    Raises UsageError where no such note may be.
    """
    trial = _pose_trial(song, plan, level, key, note)
    others = tuple(
        lock for lock in trial.locks if not (isinstance(lock, NoteLock) and lock.shares_note(note))
    )
    return trial.weigh((*others, *beside), _ways_of(trial, note))


def weigh_positions(song: Song, plan: Plan, level: Level, key: Key, bar: str) -> tuple[Alternative, ...]:
    """Every position in which a bar can be played as a whole, the cheapest first. Raises UsageError."""
    trial = _pose_trial(song, plan, level, key)
    stretch = Stretch(bar=bar)
    kept = tuple(
        lock for lock in trial.locks if not isinstance(lock, PositionLock) or lock.stretch != stretch
    )
    return trial.weigh(kept, ((PositionLock(stretch, position), None) for position in POSITIONS))


@dataclass(frozen=True, slots=True)
class _Trial:
    """A song that is asked for again and again; ``locks`` are the player's.

    ``base`` is the song as it is. ``posed`` is the same, but where the note that is asked about
    is none of the texture's: there it has that note.
    """

    base: PosedSong
    posed: PosedSong
    locks: tuple[Lock, ...]
    searcher: Searcher

    @property
    def is_new(self) -> bool:
        return self.posed is not self.base

    def weigh(
        self, kept: tuple[Lock, ...], ways: Iterable[tuple[NoteLock | PositionLock, Pitch | None]]
    ) -> tuple[Alternative, ...]:
        now = self._price(self.base, self.locks)
        priced = ((lock, pitch, self._try((*kept, lock))) for lock, pitch in ways)
        found = [Alternative(lock, price - now, pitch) for lock, pitch, price in priced if price is not None]
        return tuple(sorted(found, key=lambda each: each.price))

    def _price(self, posed: PosedSong, locks: tuple[Lock, ...]) -> int:
        return self.searcher.find_best_way(lock_song(posed, locks).problem, proof_rounds=0).price

    def _try(self, locks: tuple[Lock, ...]) -> int | None:
        """None where the locks leave no way."""
        try:
            return self._price(self.posed, locks)
        except NoWayError:
            return None


def _pose_trial(song: Song, plan: Plan, level: Level, key: Key, note: NoteLock | None = None) -> _Trial:
    prepared = prepare_song(song, replace(plan, same_fingering=False))
    locks = prepared.plan.locks
    base = posed = pose_in_key(prepared.song, prepared.plan, level, key)
    if note is not None and note.voice is Role.INNER and not _is_due(base, note):
        posed = pose_in_key(prepared.song, replace(prepared.plan, locks=(*locks, note)), level, key)
    return _Trial(base, posed, locks, find_searcher(base.setting, plan.hand_size))


def _is_due(posed: PosedSong, note: NoteLock) -> bool:
    """Whether the texture may strike the note, or a lock has put one there."""
    moments = {find_beat(bar, note.beat) for bar in posed.song.bars if bar.number == note.bar}
    return any(onset in moments for onset in list_onsets(posed.plot, note.voice))


def _ways_of(trial: _Trial, note: NoteLock) -> Iterator[tuple[NoteLock, Pitch | None]]:
    bare = NoteLock(bar=note.bar, beat=note.beat, voice=note.voice)
    for place, pitch in sorted(_places_of(trial.posed, note).items()):
        for finger in (Finger.OPEN,) if place.is_open else FINGERS:
            yield replace(bare, string=place.string, fret=place.fret, finger=finger), pitch
    if note.voice is not Role.MELODY and not trial.is_new:
        yield replace(bare, is_silent=True), None


def _places_of(posed: PosedSong, note: NoteLock) -> dict[Place, Pitch]:
    """Where what the note may be lies; the tune on the whole fingerboard, as a lock allows it."""
    tuning, last_fret = posed.setting.tuning, posed.setting.last_fret
    return {
        place: pitch
        for entry in entries_there(posed.plot, posed.song, note)
        for candidate in list_candidates(posed.plot, note.voice)[entry]
        for pitch in [_spell(posed, note.voice, entry, candidate.note)]
        for place in tuning.places(candidate.note, last_fret)
        if note.voice is Role.MELODY or place.fret <= candidate.highest_fret
    }


def _spell(posed: PosedSong, voice: Role, entry: int, midi: int) -> Pitch:
    """The tune as it is written, the accompaniment in its chord."""
    if voice is Role.MELODY:
        return posed.plot.melody[entry].pitch
    dues = posed.plot.bass if voice is Role.BASS else posed.plot.inner
    return spell_in_chord(dues[entry][0].chord, midi)
