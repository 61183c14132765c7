"""How loud the layers are: the tune *mf*, what accompanies it *p*, told once where each begins.

Source: common practice of printed guitar music, no source.
"""

from collections.abc import Iterator, Sequence

from apoyando.model.arrangement import Note
from apoyando.model.dynamics import Dynamic, Layer, Loudness


def choose_dynamics(notes: Sequence[Note]) -> tuple[Dynamic, ...]:
    """The marks of both layers, or none where only one of them plays."""
    marks = tuple(_marks(notes))
    return marks if len(marks) > 1 else ()


def _marks(notes: Sequence[Note]) -> Iterator[Dynamic]:
    layers = ((Layer.MELODY, Loudness.MF, False), (Layer.ACCOMPANIMENT, Loudness.P, True))
    for layer, loudness, is_accompaniment in layers:
        onsets = [note.onset for note in notes if note.role.is_accompaniment is is_accompaniment]
        if onsets:
            yield Dynamic(min(onsets), loudness, layer)
