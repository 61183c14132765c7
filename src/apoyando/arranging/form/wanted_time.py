"""A wanted playing time, neared by whole sections.

Too long a song loses sections one by one, each time the one whose loss comes nearest to the
time: first whole passes that are heard elsewhere. While it is more than a tenth too long, its
parts go, then its periods, and last such as are heard nowhere else. It begins and ends as
written. Too short a song is played again as a whole, and its last period once more if that is
nearer.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import groupby

from apoyando.arranging.form.rows import MOST_PLAYED
from apoyando.arranging.form.sections import Sections, find_sections
from apoyando.model.form_steps import FormAct, FormStep
from apoyando.model.song import DEFAULT_TEMPO_QUARTERS_PER_MINUTE, Song
from apoyando.model.time import Quarters

TOO_LONG = Fraction(11, 10)
"""A song no longer than this loses whole passes only (no source)."""

_ORDINALS = {1: "first", 2: "second", 3: "third", 4: "fourth", 5: "fifth", 6: "sixth"}


def near_time(
    song: Song, order: Sequence[int], minutes: float, before: Quarters
) -> tuple[list[int], tuple[FormStep, ...]]:
    """The order of play that comes nearest to the wanted time by whole sections, and its steps.

    ``before`` is how long an introduction lasts.
    """
    tempo = song.tempo_quarters_per_minute or DEFAULT_TEMPO_QUARTERS_PER_MINUTE
    wanted = max(Fraction(str(minutes)) * tempo - before, Quarters(0))
    sections = find_sections(song, order)
    if _last(song, order) > wanted:
        found, steps = _shorten(song, order, sections, wanted)
    else:
        found, steps = _lengthen(song, order, sections.periods[-1], wanted)
    return found, steps or (_tell_kept(minutes),)


def _tell_kept(minutes: float) -> FormStep:
    sentence = f"No whole section more or less brings the song nearer to {minutes:g} min."
    return FormStep(act=FormAct.NOT_DONE, sentence=sentence)


def _last(song: Song, order: Sequence[int]) -> Quarters:
    return sum((song.bars[index].duration for index in order), Quarters(0))


# --- shorter -------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Played:
    """What is left of the order of play: the places in it that are kept, in order."""

    song: Song
    order: tuple[int, ...]
    opening: int
    kept: tuple[int, ...]

    @property
    def bars(self) -> list[int]:
        return [self.order[place] for place in self.kept]

    def without(self, gone: range) -> "_Played":
        return replace(self, kept=tuple(place for place in self.kept if place not in gone))

    def has(self, section: range) -> bool:
        return section.start in self.kept and section.stop - 1 in self.kept

    def may_lose(self, section: range) -> bool:
        """Without it the piece still begins, after a pickup, and ends with the bars of the song."""
        left = [place for place in self.without(section).kept if place >= self.opening]
        ends = (self.order[self.opening], self.order[-1])
        return bool(left) and (self.order[left[0]], self.order[left[-1]]) == ends

    def hears_elsewhere(self, section: range) -> bool:
        """Whether all its bars are, but those under an ending: another ending stands for them."""
        heard = set(self.without(section).bars)
        own = [self.order[place] for place in section]
        return all(index in heard or self.song.bars[index].endings for index in own)


def _shorten(
    song: Song, order: Sequence[int], sections: Sections, wanted: Quarters
) -> tuple[list[int], tuple[FormStep, ...]]:
    played = _Played(song, tuple(order), sections.passes[0].start, tuple(range(len(order))))
    while gone := _choose_loss(played, sections, wanted):
        played = played.without(gone)
    lost = [place for place in range(len(order)) if place not in played.kept]
    return played.bars, tuple(_left_out(song, order, run) for run in _find_runs(lost))


def _choose_loss(played: _Played, sections: Sections, wanted: Quarters) -> range | None:
    """The section that goes next, None if none may or the time would not come nearer."""
    now = _last(played.song, played.bars)

    def distance(section: range) -> Quarters:
        return abs(now - _last(played.song, played.order[section.start : section.stop]) - wanted)

    for choice in _losses(played, sections, is_much_too_long=now > wanted * TOO_LONG):
        nearest = min(reversed(choice), key=distance, default=None)
        if nearest and distance(nearest) < abs(now - wanted):
            return nearest
    return None


def _losses(played: _Played, sections: Sections, *, is_much_too_long: bool) -> Iterator[list[range]]:
    """What may be left out, what is missed least first."""
    grains = (sections.passes, sections.parts, sections.periods) if is_much_too_long else (sections.passes,)
    possible = [[each for each in grain if played.has(each) and played.may_lose(each)] for grain in grains]
    yield from ([each for each in grain if played.hears_elsewhere(each)] for grain in possible)
    if is_much_too_long:
        yield from possible


def _find_runs(places: Sequence[int]) -> Iterator[range]:
    """Neighbouring places as ranges."""
    for _, group in groupby(enumerate(places), key=lambda pair: pair[1] - pair[0]):
        run = [place for _, place in group]
        yield range(run[0], run[-1] + 1)


def _left_out(song: Song, order: Sequence[int], section: range) -> FormStep:
    first, bars = order[section.start], order[section.start : section.stop]
    time, times = list(order[: section.start + 1]).count(first), list(order).count(first)
    when = f" the {_ORDINALS.get(time, f'{time}th')} time" if times > 1 else ""
    sentence = f"{name_bars(song, bars)} left out{when}."
    return FormStep(act=FormAct.LEFT_OUT, sentence=sentence, first=section.start, end=section.stop)


# --- longer --------------------------------------------------------------------------


def _lengthen(
    song: Song, order: Sequence[int], last: range, wanted: Quarters
) -> tuple[list[int], tuple[FormStep, ...]]:
    whole, tail = _last(song, order), _last(song, list(order[last.start : last.stop]))
    most = min(int(wanted / whole) + 1, MOST_PLAYED)
    ways = [(times, again) for times in range(1, most + 1) for again in range(2 if tail < whole else 1)]
    times, again = min(ways, key=lambda way: abs(way[0] * whole + way[1] * tail - wanted))
    steps = [_again(song, order, range(len(order)), times - 1)] if times > 1 else []
    steps += [_again(song, order, last, 1)] if again else []
    return list(order) * times + list(order[last.start : last.stop]) * again, tuple(steps)


def _again(song: Song, order: Sequence[int], section: range, times: int) -> FormStep:
    if len(section) == len(order):
        sentence = f"The whole song played {times + 1} times."
    else:
        sentence = f"{name_bars(song, order[section.start : section.stop])} played once more at the end."
    return FormStep(
        act=FormAct.PLAYED_AGAIN, sentence=sentence, first=section.start, end=section.stop, times=times
    )


def name_bars(song: Song, indices: Sequence[int]) -> str:
    """Bars by their printed numbers, at the start of a sentence: "Bars 1 to 7 and 9"."""
    ends = [(run[0], run[-1]) for run in _find_runs(indices)]
    numbers = [(song.bars[first].number, song.bars[last].number) for first, last in ends]
    named = [first if first == last else f"{first} to {last}" for first, last in numbers]
    listed = " and ".join([", ".join(named[:-1]), named[-1]] if named[1:] else named)
    return f"{'Bars' if len(indices) > 1 else 'Bar'} {listed}"
