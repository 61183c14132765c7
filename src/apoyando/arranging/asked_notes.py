"""Inner notes that the player asks for where the texture strikes none."""

from collections.abc import Iterable, Sequence
from dataclasses import replace

from apoyando.arranging.texture import InnerDue, Lasting, Need, Window
from apoyando.model.arrangement import Role
from apoyando.model.beat import find_beat
from apoyando.model.locks import Lock, NoteLock
from apoyando.model.song import Song
from apoyando.model.time import Quarters, Span


def add_asked_notes(windows: Sequence[Window], song: Song, locks: Iterable[Lock]) -> tuple[Window, ...]:
    """The windows with an inner note due wherever a lock wants one struck and none is due yet.

    Until the lock is on it such a note costs nothing where it is not struck. A lock outside of
    every harmony asks for nothing: who places it tells so.
    """
    asked = {
        moment
        for lock in locks
        if isinstance(lock, NoteLock) and lock.voice is Role.INNER and not lock.is_silent
        for moment in _moments_of(song, lock)
    }
    return tuple(_add_to(window, sorted(asked)) for window in windows)


def _moments_of(song: Song, lock: NoteLock) -> list[Quarters]:
    """Where the lock's beat lies, in every bar of its number."""
    moments = [(bar, find_beat(bar, lock.beat)) for bar in song.bars if bar.number == lock.bar]
    return [moment for bar, moment in moments if bar.span.contains(moment)]


def _add_to(window: Window, asked: Sequence[Quarters]) -> Window:
    struck = {due.span.onset for due in window.inner}
    for moment in asked:
        if window.span.contains(moment) and moment not in struck:
            window = replace(window, inner=_insert(window, moment))
    return window


def _insert(window: Window, moment: Quarters) -> tuple[InnerDue, ...]:
    """The note lasts to the next inner note or the end of the harmony, on a line that is free for so long."""
    later = [due.span.onset for due in window.inner if due.span.onset > moment]
    span = Span(moment, min([window.span.offset, *later]))
    taken = {due.line for due in window.inner if due.span.overlaps(span)}
    line = next(line for line in range(len(taken) + 1) if line not in taken)
    due = InnerDue(span, window.chord, line, Need.COLOUR, Lasting.LET_GO)
    return tuple(sorted((*window.inner, due), key=lambda each: (each.span.onset, each.line)))
