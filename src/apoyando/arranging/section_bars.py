"""The bars of a section that a plan names."""

from apoyando.model.bar_numbers import find_bar
from apoyando.model.errors import UsageError
from apoyando.model.plan import Section
from apoyando.model.song import Song


def find_bars(song: Song, section: Section, number: int) -> range:
    """The indices of the bars of a section; ``number`` is its own in the plan. Raises UsageError."""

    def misplaced(what: str) -> UsageError:
        return UsageError(f'Section {number} of the plan, "{section}", cannot be meant: {what}')

    first = find_bar(song.bars, section.bar, misplaced)
    last = find_bar(song.bars, section.to_bar, misplaced) if section.to_bar else first
    if last.index < first.index:
        raise misplaced("it ends before it begins.")
    return range(first.index, last.index + 1)
