"""Bars that come again are played as the first time, unless the player asks otherwise."""

from collections import defaultdict
from dataclasses import replace
from fractions import Fraction

from hypothesis import given, settings

from apoyando.arranging import arrange_in_key
from apoyando.model.arrangement import Arrangement, Note
from apoyando.model.plan import Plan
from apoyando.model.song import Bar, Song
from apoyando.reading import load_default_levels
from builders import make_song
from excerpts import ROOT, read_real_song, repeat_song
from strategies import songs

INTERMEDIATE = load_default_levels()["intermediate"]
FIRST_LIGHT = read_real_song(ROOT / "examples" / "first-light.abc")


def arrange(song: Song, **decisions: object) -> Arrangement:
    plan = replace(Plan(), **decisions)  # type: ignore[arg-type]
    return arrange_in_key(song, plan, INTERMEDIATE, song.key)


def within(bar: Bar, note: Note) -> tuple[Fraction, Fraction, int, int, int]:
    return note.onset - bar.onset, note.duration, note.place.string, note.place.fret, int(note.finger)


def tune_and_harmony(song: Song, bar: Bar) -> object:
    """What the bar is, by naive code: its own notes and chords, and nothing that reaches in or out."""
    melody = [n for n in song.melody if n.span.overlaps(bar.span)]
    if any(n.onset < bar.onset or n.offset > bar.offset for n in melody):
        return bar.onset
    chords = [h for h in song.harmony if h.chord and h.onset < bar.offset and bar.onset < h.offset]
    return (
        bar.span.duration,
        tuple((n.onset - bar.onset, n.duration, n.pitch.midi) for n in melody),
        tuple((max(h.onset, bar.onset) - bar.onset, str(h.chord)) for h in chords),
    )


def fingerings_by_bar(song: Song, arrangement: Arrangement) -> dict[object, set[object]]:
    found: dict[object, set[object]] = defaultdict(set)
    for bar in song.bars:
        played = (within(bar, n) for n in arrangement.notes if bar.onset <= n.onset < bar.offset)
        found[tune_and_harmony(song, bar)].add(tuple(sorted(played)))
    return found


def test_every_bar_of_the_example_that_comes_again_is_played_the_same_way() -> None:
    found = fingerings_by_bar(FIRST_LIGHT, arrange(FIRST_LIGHT))
    assert len(found) < len(FIRST_LIGHT.bars)
    assert all(len(ways) == 1 for ways in found.values())


def test_where_the_player_does_not_mind_it_costs_no_more() -> None:
    free = arrange(FIRST_LIGHT, same_fingering=False).search
    assert free.is_optimal
    assert free.price <= arrange(FIRST_LIGHT).search.price


@settings(max_examples=15, deadline=None)
@given(songs(most_bars=3))
def test_a_song_played_twice_is_played_alike(song: Song) -> None:
    twice = repeat_song(song, 2 * len(song.bars))
    arrangement = arrange(twice)
    search = arrangement.search
    assert search.lower_bound <= search.price
    if search.is_optimal:
        assert arrange(twice, same_fingering=False).search.price <= search.price


def test_a_bar_over_another_chord_is_another_bar() -> None:
    song = make_song("C5:4 C5:4", "C:4 Am:4")
    assert len(fingerings_by_bar(song, arrange(song))) == 2
