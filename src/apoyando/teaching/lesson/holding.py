"""What stays down in a bar, what may ring on, and what has to be let go."""

from collections.abc import Iterator

from apoyando.model.arrangement import Note
from apoyando.model.hand import Finger
from apoyando.model.instrument import Place
from apoyando.model.ring import Ending, Ring
from apoyando.model.song import Bar
from apoyando.model.time import Quarters, Span
from apoyando.teaching.lesson.facts import Facts
from apoyando.teaching.wording import join_words, list_some, name_moment, name_note


def tell_stays(facts: Facts, bar: Bar) -> Iterator[str]:
    """Notes whose finger stays, as written, while others are set down in this bar."""
    told = [
        f"{name_note(note)} from {name_moment(facts.bars, span.onset, bar)} "
        f"to {name_moment(facts.bars, span.offset, bar)}"
        for note, span in _join_strokes(_held(facts, bar))
    ]
    if told:
        yield f"Stays down: {list_some(told)}."


def _held(facts: Facts, bar: Bar) -> list[Note]:
    held: list[Note] = []
    for stroke in facts.strokes:
        if bar.span.contains(stroke.onset) and stroke.set_down:
            moving = {note.finger for note in stroke.set_down}
            held += [note for note in stroke.kept if note.finger not in moving and note not in held]
    return held


def _join_strokes(held: list[Note]) -> list[tuple[Note, Span]]:
    """A note that is struck again at once, with the same finger, is one hold."""
    joined: dict[tuple[Place, Finger, Quarters], tuple[Note, Span]] = {}
    for note in sorted(held, key=lambda note: note.onset):
        first, span = joined.pop((note.place, note.finger, note.onset), (note, note.span))
        joined[note.place, note.finger, note.offset] = first, Span(span.onset, note.offset)
    return sorted(joined.values(), key=lambda hold: hold[1].onset)


def tell_rings_on(facts: Facts, bar: Bar) -> Iterator[str]:
    """Stopped notes of the accompaniment that may stay beyond their written end."""
    told = [
        f"{name_note(ring.note)} until {name_moment(facts.bars, ring.until, bar)}"
        for ring in _rings(facts, bar)
        if ring.until > ring.note.offset
    ]
    if told:
        yield f"May stay down longer than written: {list_some(told)}."


def tell_let_go(facts: Facts, bar: Bar) -> Iterator[str]:
    """Stopped notes of the accompaniment that the hand ends before the harmony changes, and why.

    A string that is struck anew needs no telling.
    """
    notes_of: dict[str, list[Note]] = {}
    for ring in _rings(facts, bar):
        if ring.ending.is_loss and ring.ending is not Ending.STRING_STRUCK:
            why = ring.sentence.removeprefix(f"bar {bar.number}, ")
            notes_of.setdefault(why, []).append(ring.note)
    told = [
        f"{join_words([name_note(note) for note in notes])} {'ring' if len(notes) > 1 else 'rings'} until {why}"
        for why, notes in notes_of.items()
    ]
    if told:
        yield f"Let go in time: {list_some(told)}."


def _rings(facts: Facts, bar: Bar) -> list[Ring]:
    """Of the stopped notes that are struck in the bar."""
    return [
        ring
        for ring in facts.studied.rings
        if bar.span.contains(ring.note.onset) and ring.note.finger is not Finger.OPEN
    ]
