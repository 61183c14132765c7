"""Where in a song a lock lies: bars and beats found, and what is there told if they are not."""

from collections.abc import Iterable, Sequence
from functools import partial

from apoyando.arranging.plot import Plot
from apoyando.fingering import Candidate
from apoyando.model.arrangement import Role
from apoyando.model.bar_numbers import find_bar
from apoyando.model.beat import count_beat, find_beat, name_count
from apoyando.model.errors import UsageError
from apoyando.model.instrument import Tuning
from apoyando.model.locks import Lock, NoteLock, Stretch
from apoyando.model.song import Bar, Song
from apoyando.model.time import Quarters, Span

VOICE_NAMES = {Role.MELODY: "melody", Role.BASS: "bass", Role.INNER: "inner voice"}


def find_span(song: Song, lock: Lock) -> Span:
    """The time in which a lock holds; for a note the bar in which it begins. Raises UsageError."""
    stretch = Stretch(bar=lock.bar) if isinstance(lock, NoteLock) else lock.stretch
    if not stretch.bar:
        return Span(Quarters(0), song.duration)
    first = _find_bar(song, lock, stretch.bar)
    last = _find_bar(song, lock, stretch.to_bar) if stretch.to_bar else first
    onset = first.onset if stretch.beat is None else _find_moment(first, lock, stretch.beat)
    offset = last.offset if stretch.until_beat is None else _find_moment(last, lock, stretch.until_beat)
    if offset <= onset:
        raise misplaced(lock, "it ends before it begins.")
    return Span(onset, offset)


def _find_bar(song: Song, lock: Lock, number: str) -> Bar:
    return find_bar(song.bars, number, partial(misplaced, lock))


def find_entries(plot: Plot, song: Song, locks: Iterable[NoteLock], tuning: Tuning) -> dict[NoteLock, int]:
    """For each lock the index of the note among its voice's entries in the plot. Raises UsageError.

    Of inner notes struck together each lock that names a string has one of its own, from the
    lowest up in the order of what the locks sound.
    """
    found: dict[NoteLock, int] = {}
    for lock in sorted(locks, key=lambda lock: _sounding(lock, tuning)):
        entries = entries_there(plot, song, lock)
        taken = [entry for other, entry in found.items() if other.voice is lock.voice and other.string]
        free = [entry for entry in entries if entry not in taken] if lock.string else entries
        found[lock] = (free or entries)[0]
    return found


def _sounding(lock: NoteLock, tuning: Tuning) -> int:
    """What a lock sounds, or its open string as far as the fret is not told."""
    return 0 if lock.string is None else tuning.open_note(lock.string) + (lock.fret or 0)


def entries_there(plot: Plot, song: Song, lock: NoteLock) -> list[int]:
    """All entries of the voice that begin at the lock's beat."""
    bar = _find_bar(song, lock, lock.bar)
    moment = _find_moment(bar, lock, lock.beat)
    entries = [index for index, onset in enumerate(list_onsets(plot, lock.voice)) if onset == moment]
    if not entries:
        raise misplaced(lock, _what_is_there(plot, lock.voice, bar))
    return entries


def list_onsets(plot: Plot, voice: Role) -> list[Quarters]:
    """When the entries of a voice begin."""
    if voice is Role.MELODY:
        return [note.onset for note in plot.melody]
    return [due.span.onset for due, _ in (plot.bass if voice is Role.BASS else plot.inner)]


def list_candidates(plot: Plot, voice: Role) -> Sequence[tuple[Candidate, ...]]:
    """What each entry of a voice may be."""
    if voice is Role.MELODY:
        return plot.sung
    return [candidates for _, candidates in (plot.bass if voice is Role.BASS else plot.inner)]


def misplaced(lock: Lock, what: str) -> UsageError:
    return UsageError(f'The lock "{lock}" cannot be meant: {what}')


def _find_moment(bar: Bar, lock: Lock, beat: Quarters) -> Quarters:
    """The end of a bar is a moment to stop at, but none at which a note begins."""
    moment = find_beat(bar, beat)
    if bar.onset <= moment < bar.offset or (moment == bar.offset and not isinstance(lock, NoteLock)):
        return moment
    first, end = (name_count(count_beat(bar, edge)) for edge in (bar.onset, bar.offset))
    raise misplaced(lock, f"bar {bar.number} begins at beat {first} and is over at beat {end}.")


def _what_is_there(plot: Plot, voice: Role, bar: Bar) -> str:
    """Where in a bar the notes of a voice begin."""
    onsets = list_onsets(plot, voice)
    begins = sorted({onsets.index(onset) for onset in onsets if bar.span.contains(onset)})
    name = VOICE_NAMES[voice]
    if not begins:
        return f"no note of the {name} begins in bar {bar.number}."
    beats = ", ".join(_name_entry(plot, voice, index, bar) for index in begins)
    word = "beats" if len(begins) > 1 else "beat"
    return f"no note of the {name} begins there; in bar {bar.number} they may begin on {word} {beats}."


def _name_entry(plot: Plot, voice: Role, index: int, bar: Bar) -> str:
    beat = name_count(count_beat(bar, list_onsets(plot, voice)[index]))
    return f"{beat} ({plot.melody[index].pitch})" if voice is Role.MELODY else beat
