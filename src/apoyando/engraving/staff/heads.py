"""Which head on the page is which note: so that who points at the page, or lights it, finds the note."""

from collections.abc import Mapping

from apoyando.engraving.notation.score import notate
from apoyando.engraving.staff.columns import written_heads
from apoyando.model.arrangement import Arrangement


def find_heads(arrangement: Arrangement) -> Mapping[str, int]:
    """For the id of every head the place of its note among those of the arrangement.

    A note that is tied has several heads, in order of time.
    """
    places = {note: place for place, note in enumerate(arrangement.notes)}
    return {note_id: places[head.note] for note_id, head in written_heads(notate(arrangement)).items()}
