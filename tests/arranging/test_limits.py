"""Limits of a level, other than points, are kept where the tune alone would keep them.

Most tests set a limit that can be seen at a glance: no note of the accompaniment that a finger
stops may begin at a certain moment.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from hypothesis import given, settings

from apoyando.arranging import Ruler, arrange_in_key, finger_tune_alone
from apoyando.model.arrangement import Arrangement, RelaxationStep, Role
from apoyando.model.level import Level
from apoyando.model.locks import NoteLock
from apoyando.model.plan import Plan
from apoyando.model.song import Song
from apoyando.model.time import Quarters, Span
from apoyando.pipeline import make_ruler
from apoyando.proofing import find_over_level, prove_arrangement
from apoyando.reading import load_default_levels
from builders import make_song
from strategies import songs

LEVELS = load_default_levels()
INTERMEDIATE = LEVELS["intermediate"]
SONG = make_song("C5:4 A4:4 F4:4 C5:4", "F:4 F:4 F:4 C:4", count=4)


@dataclass(frozen=True)
class Passed:
    onset: Quarters
    rule: str
    stretch: Span | None


Find = Callable[[Arrangement, Level], Sequence[Passed]]


def find_stopped_at(*moments: int, stretch: bool = True) -> Find:
    """A finger may stop no new note of the accompaniment there."""

    def find(arrangement: Arrangement, _: Level) -> list[Passed]:
        return [
            Passed(note.onset, "stopped", note.span if stretch else None)
            for note in arrangement.notes
            if note.role.is_accompaniment and not note.place.is_open and note.onset in moments
        ]

    return find


def arrange(song: Song, find: Find, **plan: Any) -> Arrangement:
    ruler = Ruler(lambda arrangement, _: [0.0 for _ in arrangement.bars], find=find)
    return arrange_in_key(song, Plan(**plan), INTERMEDIATE, song.key, ruler=ruler)


def told(arrangement: Arrangement) -> dict[str, str]:
    """For each bar that is played otherwise to keep to the level what is told of it."""
    return {r.bar: r.reason for r in arrangement.relaxations if r.step is RelaxationStep.LEVEL_KEPT}


PLAIN = arrange(SONG, lambda _, __: ())
OWN_WAY = {"same_fingering": False}


def test_the_song_has_what_the_limit_forbids() -> None:
    """Or the tests below would show nothing."""
    assert find_stopped_at(1)(PLAIN, INTERMEDIATE)
    assert find_stopped_at(5)(PLAIN, INTERMEDIATE)


def test_a_limit_that_is_kept_changes_nothing() -> None:
    assert arrange(SONG, find_stopped_at(100)) == PLAIN


def test_a_limit_that_is_passed_is_kept_afterwards_and_told_in_its_bar() -> None:
    find = find_stopped_at(5)
    kept = arrange(SONG, find, **OWN_WAY)

    assert not find(kept, INTERMEDIATE)
    assert set(told(kept)) == {"2"}
    assert told(kept)["2"].startswith("stopped: open strings sought, no barre")
    assert kept.voice(Role.MELODY)[1].pitch == PLAIN.voice(Role.MELODY)[1].pitch


def test_what_does_not_sound_in_the_stretch_keeps_its_accompaniment() -> None:
    """The limit is passed in the first half of bar 2; in the second half as much is struck as before."""
    kept = arrange(SONG, find_stopped_at(5), **OWN_WAY)
    later = Span(Fraction(6), Fraction(8))
    struck = [[note.onset for note in piece.notes if later.contains(note.onset)] for piece in (PLAIN, kept)]
    assert struck[0] == struck[1]


def test_bars_that_are_played_alike_keep_a_limit_alike() -> None:
    """The first bar comes again as the third; only there the limit is passed."""
    song = make_song("C5:4 A4:4 C5:4 A4:4", "F:4 C:4 F:4 C:4", count=4)
    assert set(told(arrange(song, find_stopped_at(9)))) == {"1", "3"}


def test_what_the_tune_alone_passes_is_let_be() -> None:
    def find_melody(arrangement: Arrangement, _: Level) -> list[Passed]:
        return [Passed(note.onset, "sung", note.span) for note in arrangement.voice(Role.MELODY)]

    assert arrange(SONG, find_melody) == PLAIN


def test_what_concerns_the_whole_piece_is_let_be() -> None:
    assert arrange(SONG, find_stopped_at(5, stretch=False)) == PLAIN


def test_nothing_is_given_up_in_vain() -> None:
    """An open bass passes this limit too, and there always is one."""

    def find_bass(arrangement: Arrangement, _: Level) -> list[Passed]:
        return [Passed(note.onset, "bass", note.span) for note in arrangement.voice(Role.BASS)[:1]]

    assert arrange(SONG, find_bass).notes == PLAIN.notes


def test_a_locked_note_is_kept_whatever_the_limit() -> None:
    find = find_stopped_at(1)
    onset = find(PLAIN, INTERMEDIATE)[0].onset
    note = next(
        n for n in PLAIN.notes if n.onset == onset and n.role.is_accompaniment and not n.place.is_open
    )
    lock = NoteLock(
        bar="1", beat=note.onset + 1, voice=note.role, string=note.place.string, fret=note.place.fret
    )
    kept = arrange(SONG, find, key="C", locks=(lock,))
    assert [n.place for n in kept.notes if n.onset == onset and n.role is note.role] == [note.place]


# Of the levels themselves.


HASTY = [
    make_song("C4:3/4 Bb3:1/4 A3:1/2 F3:1/2 C4:2", "F:4"),
    make_song("C4:3/4 Bb3:1/4 A3:1/2 F3:1/2 C4:2", "Bb:4"),
]
"""Under a dotted rhythm the hand is fetched back for the accompaniment within a sixteenth, in some of them."""


def find_limits_of_hand(song: Song, ruler: Ruler | None) -> list[str]:
    """The limits that the piece passes and its tune alone would keep."""
    piece = arrange_in_key(song, Plan(level="intermediate"), INTERMEDIATE, song.key, ruler=ruler)
    tune = finger_tune_alone(piece, INTERMEDIATE)
    return [each.sentence for each in find_over_level(piece, INTERMEDIATE, tune) if not each.is_of_tune]


def test_a_limit_of_the_level_is_kept_by_another_way() -> None:
    ruler = make_ruler(Plan(level="intermediate"), LEVELS)
    assert any(find_limits_of_hand(song, None) for song in HASTY)
    assert [find_limits_of_hand(song, ruler) for song in HASTY] == [[], []]


def test_eighths_that_are_asked_for_at_early_are_played_and_told() -> None:
    """The level strikes nothing shorter than a quarter; the texture is the player's choice."""
    early, plan = LEVELS["early"], Plan(level="early", texture="running-eighths")
    kept = arrange_in_key(SONG, plan, early, SONG.key, ruler=make_ruler(plan, {"early": early}))
    short = [note for note in kept.voice(Role.INNER) if note.span.duration < 1]
    rules = {each.rule for each in find_over_level(kept, early, finger_tune_alone(kept, early))}

    assert short
    assert "shortest value" in rules
    assert not any("shortest value" in reason for reason in told(kept).values())


@settings(max_examples=25, deadline=None)
@given(songs())
def test_every_song_is_certified_and_passes_no_more_limits_than_before(song: Song) -> None:
    plan = Plan(level="intermediate")
    ruler = make_ruler(plan, {"intermediate": INTERMEDIATE})
    kept = arrange_in_key(song, plan, INTERMEDIATE, song.key, ruler=ruler)
    plain = arrange_in_key(song, plan, INTERMEDIATE, song.key)

    certificate = prove_arrangement(kept, song, INTERMEDIATE, 1.0)
    assert [witness.sentence for witness in certificate.witnesses] == []
    if not any(r.step is RelaxationStep.BAR_EASED for r in kept.relaxations):
        tune = finger_tune_alone(plain, INTERMEDIATE)
        before, after = (
            [each for each in find_over_level(piece, INTERMEDIATE, tune) if not each.is_of_tune]
            for piece in (plain, kept)
        )
        assert len(after) <= len(before)
