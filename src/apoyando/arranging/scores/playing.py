"""The search's answer read sound by sound."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

from apoyando.arranging.scores.given import Question
from apoyando.arranging.scores.sounds import Sound
from apoyando.fingering import Chosen, ChosenSlice, Touch
from apoyando.model.time import Quarters


@dataclass(frozen=True, slots=True)
class PlayedSound:
    """A sound as the hand plays it: by what in each of its slices, from its onset until ``until``.

    ``next_slice`` is the index of the slice that begins when it ends.
    """

    sound: Sound
    touches: tuple[Chosen, ...]
    until: Quarters
    next_slice: int

    @property
    def touch(self) -> Touch:
        return self.touches[0].touch

    @property
    def in_barre(self) -> bool:
        return any(chosen.touch.in_barre for chosen in self.touches)


def collect_sounds(
    question: Question, chosen: Sequence[ChosenSlice]
) -> tuple[tuple[PlayedSound, ...], tuple[Sound, ...]]:
    """The sounds that are played, in order, and those that are left out."""
    touches: defaultdict[int, list[tuple[int, Chosen]]] = defaultdict(list)
    for number, (slice_, answer) in enumerate(zip(question.slices, chosen, strict=True)):
        for index, choice in zip(slice_.sounds, answer.voices, strict=True):
            if index is not None and choice is not None:
                touches[index].append((number, choice))
    played = tuple(_played(question, index, touches[index]) for index in sorted(touches))
    silent = tuple(sound for index, sound in enumerate(question.sounds) if index not in touches)
    return played, silent


def _played(question: Question, index: int, touches: Sequence[tuple[int, Chosen]]) -> PlayedSound:
    last = touches[-1][0]
    return PlayedSound(
        sound=question.sounds[index],
        touches=tuple(choice for _, choice in touches),
        until=question.slices[last].offset,
        next_slice=last + 1,
    )
