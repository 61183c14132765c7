"""What becomes of a song that goes wrong, and the exit code of the whole run."""

from itertools import permutations
from pathlib import Path

import pytest

from apoyando import cli
from apoyando.__main__ import main
from apoyando.cli.outcome import ExitCode, Outcome, attempt, worst
from apoyando.model.errors import MissingHarmonyError, Problem, UsageError

SONG = Path("tune.abc")


def attempt_that_raises(error: BaseException) -> Outcome[None]:
    def work(_: Path) -> None:
        raise error

    return attempt(SONG, work)


def test_a_song_that_works_has_its_value_and_no_problems() -> None:
    assert attempt(SONG, lambda song: song.stem) == Outcome(SONG, ExitCode.DONE, "tune")


def test_a_song_that_cannot_be_read_tells_each_problem_on_its_line() -> None:
    outcome = attempt_that_raises(
        MissingHarmonyError(
            "tune.abc",
            (
                Problem("bar 3, beat 2", 'there is no chord "Hx7".', "Write it as C, Am7 or G/B."),
                Problem("", "there are no chord symbols.", 'Write them over the tune, as "G".'),
            ),
        )
    )

    assert outcome.code == 3
    assert outcome.lines == (
        'tune.abc: bar 3, beat 2: there is no chord "Hx7". Write it as C, Am7 or G/B.',
        'tune.abc: there are no chord symbols. Write them over the tune, as "G".',
    )


def test_wrong_use_met_in_a_song_is_wrong_use() -> None:
    outcome = attempt_that_raises(UsageError("out/tune.pdf: cannot be written (disk full)."))

    assert outcome.code == 2
    assert outcome.lines == ("tune.abc: out/tune.pdf: cannot be written (disk full).",)


def test_a_bug_is_confessed_in_one_line_with_what_and_where() -> None:
    outcome = attempt_that_raises(KeyError("a\nb"))

    assert outcome.code == 1
    assert len(outcome.lines) == 1
    assert "\n" not in outcome.lines[0]
    assert "this is a fault of the program, not of the song: KeyError:" in outcome.lines[0]
    assert "(test_outcome.py, line " in outcome.lines[0]
    assert "Nothing was written for this song" in outcome.lines[0]


@pytest.mark.parametrize("interruption", [KeyboardInterrupt, SystemExit])
def test_being_stopped_is_not_taken_for_a_bug(interruption: type[BaseException]) -> None:
    with pytest.raises(interruption):
        attempt_that_raises(interruption())


def test_a_run_without_trouble_ends_with_zero() -> None:
    assert worst([Outcome(SONG, ExitCode.DONE, 1)]) == 0
    no_songs: list[Outcome[int]] = []
    assert worst(no_songs) == 0


@pytest.mark.parametrize(
    ("codes", "expected"),
    [({0, 3}, 3), ({0, 2}, 2), ({0, 1}, 1), ({2, 3}, 2), ({1, 3}, 1), ({1, 2}, 1), ({0, 1, 2, 3}, 1)],
)
def test_a_fault_counts_before_wrong_use_and_that_before_unreadable_songs(
    codes: set[int], expected: int
) -> None:
    for order in permutations(codes):
        outcomes: list[Outcome[None]] = [Outcome(SONG, ExitCode(code)) for code in order]
        assert worst(outcomes) == expected


def test_a_program_that_is_stopped_while_it_loads_ends_with_130_in_silence(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def stop() -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(cli, "main", stop)
    with pytest.raises(SystemExit) as stopped:
        main()
    assert stopped.value.code == 130
    assert capsys.readouterr() == ("", "")
