"""Excerpts of songs as problems for the search: real ones where they are at hand, and random ones."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import cycle
from pathlib import Path

from hypothesis import HealthCheck, Phase, given, settings

from apoyando.arranging import pose_in_key
from apoyando.arranging.keys import twelve_keys
from apoyando.fingering import (
    SILENT,
    ChosenSlice,
    Problem,
    Slice,
    Table,
    VoiceSlice,
    find_best_way,
)
from apoyando.model.instrument import STANDARD_TUNING
from apoyando.model.pitch import Key
from apoyando.model.plan import Plan
from apoyando.model.prices import Prices
from apoyando.model.song import Song
from apoyando.model.time import Quarters, Span
from apoyando.reading import load_default_levels, read_song
from references.plain_search import World
from strategies import songs

ROOT = Path(__file__).parents[1]
SONGS = (
    *sorted((ROOT.parent / "shared" / "leadsheets").glob("*.mxl")),
    *sorted((ROOT / "examples").glob("*.abc")),
)
"""Lead sheets beside the project, where there are any, and the examples."""
WORLDS = {
    name: World(STANDARD_TUNING, replace(level, small_barres=False), Prices())
    for name, level in load_default_levels().items()
}


@dataclass(frozen=True)
class Excerpt:
    name: str
    problem: Problem
    world: World


def read_real_song(path: Path) -> Song:
    return read_song(path.read_bytes(), path.name)


def cut_song(song: Song, first: int, count: int) -> Song:
    """Some bars of a song, counted from 0; what sounds over a cut begins or ends there."""
    bars = song.bars[first : first + count]
    onset, offset = bars[0].onset, bars[-1].offset

    def moved(span: Span) -> Span:
        return Span(max(span.onset, onset) - onset, min(span.offset, offset) - onset)

    whole = Span(onset, offset)
    return replace(
        song,
        bars=tuple(replace(bar, index=i, span=moved(bar.span)) for i, bar in enumerate(bars)),
        melody=tuple(replace(n, span=moved(n.span)) for n in song.melody if n.span.overlaps(whole)),
        harmony=tuple(
            replace(h, span=moved(h.span)) for h in song.harmony if Span(h.onset, h.offset).overlaps(whole)
        ),
    )


def repeat_song(song: Song, count: int) -> Song:
    """The song again and again until it has so many bars; the form is not kept."""
    times = -(-count // len(song.bars))
    starts = [song.duration * time for time in range(times)]

    def later(span: Span, start: Quarters) -> Span:
        return Span(span.onset + start, span.offset + start)

    bars = [replace(bar, span=later(bar.span, start)) for start in starts for bar in song.bars]
    endless = replace(
        song,
        bars=tuple(replace(bar, index=i) for i, bar in enumerate(bars)),
        melody=tuple(replace(n, span=later(n.span, start)) for start in starts for n in song.melody),
        harmony=tuple(replace(h, span=later(h.span, start)) for start in starts for h in song.harmony),
    )
    return cut_song(endless, 0, count)


def pose_problem(song: Song, key: Key, world: World) -> Problem:
    """The search's question for a song in one key, as the arranger asks it, each bar for itself."""
    return pose_in_key(song, Plan(same_fingering=False), world.level, key).problem


def pose_alike(song: Song, key: Key, world: World) -> Problem:
    """The same, but that bars which come again are to be played alike."""
    return pose_in_key(song, Plan(), world.level, key).problem


# The accompaniment given: fingering alone.


def fix_accompaniment(problem: Problem, chosen: Sequence[ChosenSlice]) -> Problem:
    """The notes that were chosen, and no others: where each voice sounds, it must."""
    fixed = (
        _only(slice_, [voice.candidate if voice else None for voice in choice.voices])
        for slice_, choice in zip(problem.slices, chosen, strict=True)
    )
    return replace(problem, slices=tuple(fixed))


def take_cheapest(problem: Problem) -> Problem:
    """For each voice the note that the ear likes best, whether a hand can hold it or not."""

    def cheapest(voice: VoiceSlice) -> int | None:
        prices = [candidate.price for candidate in voice.candidates]
        return prices.index(min(prices)) if prices else None

    return Problem(tuple(_only(s, [cheapest(voice) for voice in s.voices]) for s in problem.slices))


def _only(slice_: Slice, candidates: Sequence[int | None]) -> Slice:
    voices = [
        SILENT
        if index is None
        else replace(
            voice, candidates=(voice.candidates[index],), none_price=None, release_price=None, steps=()
        )
        for voice, index in zip(slice_.voices, candidates, strict=True)
    ]
    return replace(slice_, voices=tuple(voices), interplay=(), successions=())


# A smaller choice, for a quicker proof.

LEAST_NOTES = 4
NARROW_CHOICE, NARROW_FRET, NARROW_MELODY_FRET = 3, 4, 9


def narrow_choice(problem: Problem) -> Problem:
    """The accompaniment has its three cheapest notes, up to fret 4; the melody lies up to fret 9.

    A melody note too high for that may go as far up as it must on string 1.
    """
    slices: list[Slice] = []
    for slice_ in problem.slices:
        kept = [_cheapest(voice) for voice in slice_.voices]
        before = _kept_before(slices, problem)
        voices = [
            _lowered(voice) if voice.sings else _narrowed(voice, keep, old)
            for voice, keep, old in zip(slice_.voices, kept, before, strict=True)
        ]
        interplay = [
            replace(pair, prices=_part(pair.prices, kept[pair.one], kept[pair.other]))
            for pair in slice_.interplay
        ]
        successions = [
            replace(pair, prices=_part(pair.prices, before[pair.one], kept[pair.other]))
            for pair in slice_.successions
        ]
        slices.append(
            replace(
                slice_,
                voices=tuple(voices),
                interplay=tuple(interplay),
                successions=tuple(successions),
            )
        )
    return Problem(tuple(slices))


def _lowered(melody: VoiceSlice) -> VoiceSlice:
    top = STANDARD_TUNING.open_strings[0]
    return replace(
        melody,
        candidates=tuple(
            replace(c, highest_fret=max(NARROW_MELODY_FRET, c.note - top)) for c in melody.candidates
        ),
    )


def _kept_before(done: Sequence[Slice], problem: Problem) -> list[list[int]]:
    slice_ = problem.slices[max(len(done) - 1, 0)]
    return [_cheapest(voice) for voice in slice_.voices]


def _cheapest(voice: VoiceSlice) -> list[int]:
    """Indices of the candidates that stay, in order."""
    by_price = sorted(range(len(voice.candidates)), key=lambda i: (voice.candidates[i].price, i))
    return sorted(by_price[:NARROW_CHOICE])


def _narrowed(voice: VoiceSlice, keep: Sequence[int], before: Sequence[int]) -> VoiceSlice:
    candidates = [voice.candidates[index] for index in keep]
    return replace(
        voice,
        candidates=tuple(replace(c, highest_fret=min(c.highest_fret, NARROW_FRET)) for c in candidates),
        steps=_part(voice.steps, before, keep) if voice.steps else (),
    )


def _part(table: Table, rows: Sequence[int], columns: Sequence[int]) -> Table:
    return tuple(tuple(table[row][column] for column in columns) for row in rows)


# Collections.


def real_excerpts(lengths: Sequence[int] = (2,), paths: Sequence[Path] = SONGS) -> Iterator[Excerpt]:
    """Of each song one excerpt for each length, spread over the song; keys and levels in turn."""
    keys = cycle(range(0, 60, 5))
    levels = cycle(("intermediate", "early", "intermediate", "advanced", "intermediate"))
    for path in paths:
        song = read_real_song(path)
        for turn, length in enumerate(lengths):
            first = 1 + (len(song.bars) - length - 1) * turn // len(lengths)
            key, level = twelve_keys(song)[next(keys) % 12], next(levels)
            problem = pose_problem(cut_song(song, first, length), key, WORLDS[level])
            yield Excerpt(
                f"{path.stem}, bars {first + 1}-{first + length}, {key}, {level}", problem, WORLDS[level]
            )


def recurring_excerpts(paths: Sequence[Path] = SONGS) -> Iterator[Excerpt]:
    """Of each song a bar, the next, the first again and the one after that, to be played alike.

    The notes are those of the cheapest way; the fingers are free.
    """
    world = WORLDS["intermediate"]
    for path in paths:
        song = read_real_song(path)
        first = len(song.bars) // 2 - 1
        twice = repeat_song(cut_song(song, first, 3), 6)
        problem = pose_alike(cut_song(twice, 0, 5), song.key, world)
        if problem.alike:
            found = find_best_way(problem, tuning=world.tuning, level=world.level, prices=world.prices)
            fixed = fix_accompaniment(problem, found.slices)
            yield Excerpt(f"{path.stem}, bars {first + 1}-{first + 3} and again", fixed, world)


def random_excerpts(count: int) -> Iterator[Excerpt]:
    """The last two bars of random songs, the same in every run and no two alike."""
    levels = cycle(("intermediate", "advanced", "early"))
    songs_ = (cut_song(song, len(song.bars) - 2, 2) for song in _drawn_songs(20 * count) if song.bars[1:])
    # Neighbours in what is drawn are much alike.
    unlike = [song for song in songs_ if len(song.melody) >= LEAST_NOTES][::4]
    for number, (song, level) in enumerate(zip(unlike[:count], levels, strict=False), 1):
        world = WORLDS[level]
        yield Excerpt(f"random song {number}, {level}", pose_problem(song, song.key, world), world)


def _drawn_songs(count: int) -> list[Song]:
    drawn: list[Song] = []

    @settings(
        max_examples=count,
        derandomize=True,
        database=None,
        deadline=None,
        phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )
    @given(songs())
    def collect(song: Song) -> None:
        drawn.append(song)

    collect()
    return drawn
