"""The cautions: what to mind so that practice does no harm. No medical advice."""

from collections.abc import Iterator

from apoyando.model.song import bar_at
from apoyando.teaching.lesson.facts import Facts
from apoyando.teaching.points import Cause
from apoyando.teaching.wording import join_words, name_bars

CAUTION = (
    "Rest often, and stop when it hurts; if it goes on hurting, see a teacher or a doctor. "
    "The fingering is a suggestion by a program that has no hand."
)


def tell_strain(facts: Facts) -> Iterator[str]:
    """The bars of the barres and of the widest stretches, where strain is likeliest."""
    stretched = [bar_at(facts.bars, trouble.onset).number for trouble in facts.troubles[Cause.STRETCH]]
    barred = [bar_at(facts.bars, barre.span.onset).number for barre in facts.barres]
    told = [
        f"{what} in {name_bars(bars)}"
        for what, bars in (("the barres", barred), ("the stretches", stretched))
        if bars
    ]
    if told:
        yield f"Give the hand a rest after {join_words(told)}."
