"""Bars that ask more than the level has are made easier, with the least loss.

Most tests measure by what can be counted at a glance: the notes of the accompaniment that a
finger stops, bar by bar.
"""

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from apoyando.arranging import Ruler, arrange_in_key
from apoyando.arranging.easing import STEPS
from apoyando.model.arrangement import Arrangement, Note, RelaxationStep, Role
from apoyando.model.errors import UsageError
from apoyando.model.level import Level
from apoyando.model.locks import NoteLock
from apoyando.model.plan import MOST_STEPS_EASIER, Plan, Section
from apoyando.model.song import Song, bar_at
from apoyando.pipeline import make_ruler
from apoyando.proofing import prove_arrangement
from apoyando.reading import load_default_levels
from apoyando.teaching import measure_difficulty
from builders import make_song
from strategies import songs

LEVELS = load_default_levels()
INTERMEDIATE = LEVELS["intermediate"]
SONG = make_song("C5:4 A4:4 F4:4 C5:4", "F:4 F:4 F:4 C:4", count=4)


def list_stopped(arrangement: Arrangement, bar: int) -> list[Note]:
    """The notes of the accompaniment in a bar that a finger stops."""
    span = arrangement.bars[bar].span
    return [
        note
        for note in arrangement.notes
        if note.role.is_accompaniment and not note.place.is_open and span.contains(note.onset)
    ]


def list_stopped_inner(arrangement: Arrangement, bar: int) -> list[Note]:
    return [note for note in list_stopped(arrangement, bar) if note.role is Role.INNER]


def count_stopped(arrangement: Arrangement, _: Level) -> tuple[int, ...]:
    return tuple(len(list_stopped(arrangement, bar.index)) for bar in arrangement.bars)


def count_melody(arrangement: Arrangement, _: Level) -> tuple[int, ...]:
    """What nothing in the accompaniment can make less."""
    melody = arrangement.voice(Role.MELODY)
    return tuple(sum(bar.span.contains(note.onset) for note in melody) for bar in arrangement.bars)


def count_one_more_in_second(arrangement: Arrangement, level: Level) -> Sequence[float]:
    """The stopped notes, and one more in the second bar than there would be at the next level."""
    first, second, *others = count_stopped(arrangement, level)
    return [first, second + (arrangement.level != "advanced"), *others]


def count_three_more_in_second(arrangement: Arrangement, level: Level) -> Sequence[float]:
    """The stopped notes; than at the next level three more in the second bar, and two fewer in the first."""
    first, second, *others = count_stopped(arrangement, level)
    is_next = arrangement.level == "advanced"
    return [first + 2 * is_next, second + 3 * (not is_next), *others]


STOPPED_NOTES = Ruler(count_stopped)


def arrange(song: Song, most: float, ruler: Ruler = STOPPED_NOTES, **plan: Any) -> Arrangement:
    return arrange_in_key(song, Plan(**plan), replace(INTERMEDIATE, most_points=most), song.key, ruler=ruler)


def steps_told(arrangement: Arrangement) -> dict[str, str]:
    """For each bar that was made easier what is told of it."""
    return {r.bar: r.reason for r in arrangement.relaxations if r.step is RelaxationStep.BAR_EASED}


PLAIN = arrange(SONG, most=100)
STOPPED = count_stopped(PLAIN, INTERMEDIATE)


def test_the_song_has_bars_with_many_stopped_notes() -> None:
    """Or the tests below would show nothing."""
    assert min(STOPPED[:3]) > 2


def test_bars_within_the_bound_stay_as_they_are() -> None:
    assert arrange_in_key(SONG, Plan(), INTERMEDIATE, SONG.key) == PLAIN
    assert arrange(SONG, most=max(STOPPED)) == PLAIN


def test_a_bar_longer_than_four_quarters_may_ask_more_in_proportion() -> None:
    """The same music in bars of twice the length: each may have what two of the others have."""
    long = make_song("C5:4 A4:4 F4:4 C5:4", "F:4 F:4 F:4 C:4", meter="8/4", count=2)
    stopped = count_stopped(arrange(long, most=100), INTERMEDIATE)
    assert arrange(long, most=max(stopped) / 2) == arrange(long, most=100)
    assert steps_told(arrange(long, most=max(stopped) / 2 - 0.5))


def test_a_bar_is_made_easier_where_the_player_wishes_it_and_only_there() -> None:
    wished = arrange(SONG, most=100, sections=(Section("2", easier=3),), same_fingering=False)
    assert set(steps_told(wished)) == {"2"}
    assert not list_stopped_inner(wished, 1)
    assert wished.voice(Role.MELODY)[1].pitch == PLAIN.voice(Role.MELODY)[1].pitch


def test_the_player_s_steps_come_before_those_that_the_level_asks_for() -> None:
    wished = arrange(SONG, most=0, sections=(Section("1", "bare"), Section("2", easier=1)))
    assert set(steps_told(wished)) >= {"2"}
    assert count_stopped(wished, INTERMEDIATE) == count_stopped(arrange(SONG, most=0), INTERMEDIATE)


def test_as_many_steps_can_be_wished_for_as_there_are() -> None:
    assert len(STEPS) == MOST_STEPS_EASIER


def test_a_bar_that_is_not_there_cannot_be_made_easier() -> None:
    with pytest.raises(
        UsageError, match=r'Section 1 of the plan, "bar 9: easier by 2", .* there is no bar 9'
    ):
        arrange(SONG, most=100, sections=(Section("9", easier=2),))


@pytest.mark.parametrize("most", [3, 2, 1, 0])
def test_bars_beyond_the_bound_come_within_it(most: int) -> None:
    eased = arrange(SONG, most)

    assert max(count_stopped(eased, INTERMEDIATE)) <= most
    over = {bar.number for bar, count in zip(SONG.bars, STOPPED, strict=True) if count > most}
    assert over <= set(steps_told(eased))
    assert not any(r.step is RelaxationStep.OVER_LEVEL for r in eased.relaxations)


def test_the_lower_the_bound_the_more_is_given_up_and_the_tune_never_is() -> None:
    sizes = [len(arrange(SONG, most).notes) for most in (100, 3, 2, 1, 0)]
    assert sizes == sorted(sizes, reverse=True)
    for most in (3, 0):
        melody = arrange(SONG, most).voice(Role.MELODY)
        assert [(n.span, n.pitch) for n in melody] == [(n.span, n.pitch) for n in PLAIN.voice(Role.MELODY)]


def test_what_was_done_to_a_bar_is_told_with_its_points_before_and_after() -> None:
    told = steps_told(arrange(SONG, most=0))
    words = "; ".join(step.words for step in STEPS)
    for number, reason in told.items():
        index = int(number) - 1
        before, _, done = reason.partition(": ")
        assert before == f"0.0 points instead of {STOPPED[index]:.1f}"
        assert words.startswith(done)


def test_a_note_left_out_for_it_says_so() -> None:
    eased = arrange(SONG, most=0)
    reasons = {r.reason for r in eased.relaxations if r.step is RelaxationStep.INNER_DROPPED}
    assert reasons == {"to make the bar easier"}


def test_a_bar_that_the_tune_alone_makes_hard_keeps_its_accompaniment_and_is_named() -> None:
    eased = arrange(SONG, most=0.5, ruler=Ruler(count_melody))

    assert eased.notes == PLAIN.notes
    assert steps_told(eased) == {}
    assert [(r.bar, r.reason) for r in eased.relaxations if r.step is RelaxationStep.OVER_LEVEL] == [
        (bar.number, "1.0 points, at most 0.5 at this level") for bar in SONG.bars
    ]


def test_bars_that_are_played_alike_are_made_easier_alike() -> None:
    """The first bar comes again as the third; only there the measure finds it hard."""
    song = make_song("C5:4 A4:4 C5:4 A4:4", "F:4 C:4 F:4 C:4", count=4)

    def count_in_third(arrangement: Arrangement, level: Level) -> tuple[int, ...]:
        counts = count_stopped(arrangement, level)
        return (0, 0, counts[2], 0)

    told = steps_told(arrange(song, most=0, ruler=Ruler(count_in_third)))
    assert set(told) == {"1", "3"}


def test_a_locked_note_is_kept_whatever_the_bound() -> None:
    note = list_stopped(PLAIN, 0)[0]
    place = note.place
    lock = NoteLock(bar="1", beat=note.onset + 1, voice=note.role, string=place.string, fret=place.fret)
    eased = arrange(SONG, most=0, key="C", locks=(lock,))

    assert [(each.onset, each.place) for each in list_stopped(eased, 0)] == [(note.onset, place)]
    assert [r.bar for r in eased.relaxations if r.step is RelaxationStep.OVER_LEVEL] == ["1"]


# Monotone: an easier level is never measured harder.


def test_a_piece_comes_under_the_sum_of_the_harder_level_s() -> None:
    harder = replace(INTERMEDIATE, name="advanced", most_points=200)
    ruler = Ruler(count_one_more_in_second, (harder,))
    piece = arrange(SONG, most=100, ruler=ruler)
    assert sum(count_one_more_in_second(piece, INTERMEDIATE)) <= sum(STOPPED)
    assert set(steps_told(piece)) == {"2"}


def test_no_bar_goes_farther_down_for_it_than_the_sum_asks() -> None:
    harder = replace(INTERMEDIATE, name="advanced", most_points=200)
    piece = arrange(SONG, most=100, ruler=Ruler(count_three_more_in_second, (harder,)))
    assert sum(count_three_more_in_second(piece, INTERMEDIATE)) <= sum(STOPPED) + 2
    (told,) = steps_told(piece).values()
    assert told.endswith(f": {STEPS[0].words}")


# What holds for every song.


@settings(max_examples=25, deadline=None)
@given(songs(), st.sampled_from(["early", "intermediate"]), st.sampled_from([1.0, 3.0]))
def test_every_song_is_certified_and_each_bar_within_the_bound_or_named(
    song: Song, name: str, most: float
) -> None:
    level = replace(LEVELS[name], most_points=most)
    plan = Plan(level=name)
    eased = arrange_in_key(song, plan, level, song.key, ruler=make_ruler(plan, {name: level}))

    certificate = prove_arrangement(eased, song, level, 1.0)
    assert [witness.sentence for witness in certificate.witnesses] == []
    bounds = [level.points_for(bar.span.duration) for bar in song.bars]
    points = measure_difficulty(eased, level)
    beyond = [bar.bar for bar, bound in zip(points, bounds, strict=True) if bar.total > bound]
    assert beyond == [r.bar for r in eased.relaxations if r.step is RelaxationStep.OVER_LEVEL]
    assert all(each.bar == bar_at(song.bars, each.onset).number for each in eased.relaxations)
