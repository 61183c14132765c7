"""Where to look ahead: shifts with their guide fingers, and barres to prepare."""

from collections.abc import Iterator

from apoyando.model.arrangement import Barre
from apoyando.model.hand import Finger, roman
from apoyando.model.position import Shift, find_guides
from apoyando.model.song import Bar
from apoyando.teaching.lesson.facts import Facts
from apoyando.teaching.turns import find_turn_shifts
from apoyando.teaching.wording import join_words, name_barre, name_moment, name_note


def tell_shifts(facts: Facts, bar: Bar) -> Iterator[str]:
    """Where the hand goes, for which notes, and what helps it."""
    for shift in facts.shifts:
        if bar.span.contains(shift.onset):
            way = f"from position {roman(shift.old_position)} to {roman(shift.new_position)}"
            target = join_words([name_note(note) for note in shift.target])
            help_ = "".join(f"; {clause}" for clause in _clauses(facts, shift, bar))
            yield f"On {name_moment(facts.bars, shift.onset, bar)} the hand goes {way}, for {target}{help_}."


def _clauses(facts: Facts, shift: Shift, bar: Bar) -> Iterator[str]:
    """Each guide finger; and, where nothing is held up to the shift, since when the hand is free."""
    notes = facts.arrangement.notes
    for before, after in find_guides(notes, (shift,)):
        yield f"finger {after.finger:d} guides it along string {after.place.string} from fret {before.place.fret}"
    offsets = [note.offset for note in notes if note.finger is not Finger.OPEN and note.onset < shift.onset]
    if shift.is_free and offsets:
        yield f"no finger is held from {name_moment(facts.bars, max(offsets), bar)} on"


def tell_barres_ahead(facts: Facts, bar: Bar) -> Iterator[str]:
    """Barres that are laid in the bar, and how long before it the finger is free."""
    for barre in facts.barres:
        if bar.span.contains(barre.span.onset):
            strings = f"strings {barre.lowest_string} to {barre.highest_string}"
            place = name_moment(facts.bars, barre.span.onset, bar)
            until = name_moment(facts.bars, barre.span.offset, bar)
            yield (
                f"On {place} lay {name_barre(barre)} over {strings}, until {until}{_free_since(facts, barre, bar)}."
            )


def _free_since(facts: Facts, barre: Barre, bar: Bar) -> str:
    last = max(
        (
            note
            for note in facts.arrangement.notes
            if note.finger is barre.finger and note.onset < barre.span.onset
        ),
        key=lambda note: note.offset,
        default=None,
    )
    if last is None:
        return ""
    if last.offset >= barre.span.onset and last.place.fret == barre.fret:
        return f"; finger {barre.finger:d} lies at this fret already, on {name_note(last)}"
    if last.offset >= barre.span.onset:
        return f"; finger {barre.finger:d} comes straight from {name_note(last)}"
    return f"; finger {barre.finger:d} is free from {name_moment(facts.bars, last.offset, bar)}"


def tell_turns(facts: Facts) -> Iterator[str]:
    """Shifts where a repeat or a jump turns."""
    for turn in find_turn_shifts(facts.arrangement):
        yield turn.sentence
