"""Which notes have a hold line, a line that shows how long a note is kept down.

Those of the accompaniment during which something else is struck, where the sheet wants lines; the
melody has none: it is held by whoever sings it (our own). A source that prints such lines says for
each note whether it has one, and that counts.
"""

from bisect import bisect_right

from apoyando.model.arrangement import Arrangement, Note


def choose_hold_lines(arrangement: Arrangement, *, are_wanted: bool) -> tuple[Note, ...]:
    """The notes in the order of the arrangement."""
    if not are_wanted:
        return tuple(note for note in arrangement.notes if note.has_hold_line)
    onsets = sorted({note.onset for note in arrangement.notes})

    def has_line(note: Note) -> bool:
        if note.has_hold_line is not None:
            return note.has_hold_line
        if not note.role.is_accompaniment:
            return False
        following = bisect_right(onsets, note.onset)
        return following < len(onsets) and onsets[following] < note.offset

    return tuple(filter(has_line, arrangement.notes))
