"""The inner voice from one chord to the next: kept or by step rather than by leap."""

from dataclasses import replace

from apoyando.arranging import pose_in_key
from apoyando.arranging.voices import inner_motion
from apoyando.fingering import Candidate, Table
from apoyando.model.arrangement import Role
from apoyando.model.harmony import HarmonySpan
from apoyando.model.plan import Plan
from apoyando.model.prices import Prices
from apoyando.model.song import MelodyNote, Song
from apoyando.reading import load_default_levels
from builders import make_bars, make_harmony, make_line

PRICES = Prices()
INNER = 2


def price(one: int, other: int, *, is_change: bool) -> int:
    return inner_motion((one,), (other,), PRICES, is_change=is_change)[0][0]


def test_at_a_change_of_harmony_a_common_tone_and_a_step_are_free_and_a_leap_is_not() -> None:
    assert price(60, 60, is_change=True) == PRICES.inner_common_tone == 0
    assert price(60, 61, is_change=True) == price(60, 58, is_change=True) == 0
    assert price(60, 63, is_change=True) == price(60, 57, is_change=True) == PRICES.inner_leap_at_change > 0


def test_a_leap_beyond_a_fifth_costs_more_whether_the_harmony_changes_or_not() -> None:
    beyond = 2 * PRICES.inner_leap_per_semitone
    assert price(60, 67, is_change=False) == 0
    assert price(60, 69, is_change=False) == beyond
    assert price(60, 69, is_change=True) == PRICES.inner_leap_at_change + beyond


def test_within_one_chord_the_pattern_leaps_freely_and_a_repeated_note_is_a_hammer() -> None:
    assert price(60, 64, is_change=False) == 0
    assert price(60, 60, is_change=False) == PRICES.inner_repeated


def steps_into_second_bar(harmony: tuple[HarmonySpan, ...]) -> Table:
    """The melody runs in eighths, so that one inner note fills each bar."""
    melody = make_line(Role.MELODY, " ".join(["C5:1/2 G4:1/2"] * 4))
    song = Song(
        title="Running",
        bars=make_bars(2, "2/4"),
        melody=tuple(MelodyNote(span=note.span, pitch=note.pitch) for note in melody),
        harmony=harmony,
    )
    posed = pose_in_key(
        song, Plan(texture="running-eighths"), load_default_levels()["intermediate"], song.key
    )
    second = next(
        slice_ for at, slice_ in zip(posed.slices, posed.problem.slices, strict=True) if at.span.onset == 2
    )
    before = next(
        slice_.voices[INNER].candidates
        for at, slice_ in zip(posed.slices, posed.problem.slices, strict=True)
        if at.span.offset == 2
    )
    return _of_the_same_note(second.voices[INNER].steps, before, second.voices[INNER].candidates)


def _of_the_same_note(steps: Table, before: tuple[Candidate, ...], after: tuple[Candidate, ...]) -> Table:
    kept = [
        steps[i][j] for i, one in enumerate(before) for j, other in enumerate(after) if one.note == other.note
    ]
    return (tuple(kept),)


def test_the_change_is_seen_where_the_chord_changes_and_not_where_it_is_written_again() -> None:
    (changed,) = steps_into_second_bar(make_harmony("C:2 F:2"))
    assert set(changed) == {PRICES.inner_common_tone}
    first, second = make_harmony("C:2 C:2")
    assert second.chord
    again = replace(second, chord=replace(second.chord, text="C major"))
    (same,) = steps_into_second_bar((first, again))
    assert set(same) == {PRICES.inner_repeated}
