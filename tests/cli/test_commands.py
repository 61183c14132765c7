"""The commands as a player and as another program meets them."""

import json
import os
import re
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from contextlib import suppress
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from typer.main import get_command
from typer.testing import CliRunner, Result

from apoyando import __version__
from apoyando.cli import app
from apoyando.pipeline import songs, verdicts
from apoyando.proofing import (
    SONG_RULES,
    Breach,
    Certificate,
    Refutation,
    Rule,
    Witness,
    prove_arrangement,
)

GATE = """X:1
T:The Gate in the Hedge
C:apoyando contributors
M:3/4
L:1/4
Q:1/4=90
K:G
"G"D G A | "C"B2 c | "D7"A2 F | "G"G3 |]
"""
NO_CHORDS = GATE.replace('"G"', "").replace('"C"', "").replace('"D7"', "")
SUFFIXES = (".pdf", ".musicxml", ".mid", ".report.json", ".plan.toml")
ESCAPE = "\x1b"

Arranged = tuple[Path, subprocess.CompletedProcess[str]]
"""The folder with the song and its pages, and what the program said."""


def run(*arguments: str | Path) -> Result:
    """A command in this process; a bug that escapes it fails the test."""
    return CliRunner().invoke(
        app, [str(each) for each in arguments], prog_name="apoyando", catch_exceptions=False
    )


def run_program(*arguments: str | Path, **more: Any) -> subprocess.CompletedProcess[str]:
    """A command in a process of its own, as a player starts it."""
    command = [sys.executable, "-m", "apoyando", *map(str, arguments)]
    return subprocess.run(command, capture_output=True, text=True, check=False, timeout=120, **more)


def wait_for_helpers(process: subprocess.Popen[bytes]) -> None:
    """Until the program has helpers at work, which their server begins."""
    wait_until(process, lambda: count_helpers(process.pid) >= min(os.cpu_count() or 1, 12))
    time.sleep(0.5)


def wait_until(process: subprocess.Popen[bytes], is_so: Callable[[], bool]) -> None:
    """Linux alone lists the processes that a program has begun."""
    if not list_children(process.pid).exists() or (os.cpu_count() or 1) == 1:
        pytest.skip("without helpers, or they cannot be listed")
    while process.poll() is None and not is_so():
        time.sleep(0.05)


def list_children(pid: int) -> Path:
    return Path(f"/proc/{pid}/task/{pid}/children")


def count_helpers(pid: int) -> int:
    with suppress(FileNotFoundError):  # one may have ended meanwhile
        servers = [int(child) for child in list_children(pid).read_text().split()]
        return sum(len(list_children(server).read_text().split()) for server in servers)
    return 0


def contents(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in sorted(folder.iterdir())}


@pytest.fixture
def gate(tmp_path: Path) -> Path:
    song = tmp_path / "gate.abc"
    song.write_text(GATE)
    return song


@pytest.fixture(scope="module")
def arranged(tmp_path_factory: pytest.TempPathFactory) -> Arranged:
    """The gate arranged once in its own key by the real program, from another folder."""
    folder = tmp_path_factory.mktemp("songs")
    (folder / "gate.abc").write_text(GATE)
    return folder, run_program("arrange", "gate.abc", "--key", "G", "--out", "pages", cwd=folder)


# What arrange does.


def test_a_song_becomes_a_page_a_score_a_sound_a_report_and_a_plan(
    arranged: Arranged,
) -> None:
    folder, done = arranged
    files = contents(folder / "pages")

    assert done.returncode == 0
    assert set(files) == {f"gate{suffix}" for suffix in SUFFIXES}
    assert files["gate.pdf"].startswith(b"%PDF-")  # ISO 32000
    assert files["gate.mid"].startswith(b"MThd")  # Standard MIDI Files 1.0
    assert b"<score-partwise" in files["gate.musicxml"]  # W3C MusicXML 4.0
    assert json.loads(files["gate.report.json"])["title"] == "The Gate in the Hedge"


def test_the_song_itself_is_left_as_it_was(arranged: Arranged) -> None:
    assert (arranged[0] / "gate.abc").read_text() == GATE


def test_off_a_terminal_one_line_says_what_is_begun_and_one_names_the_files(
    arranged: Arranged,
) -> None:
    done = arranged[1]

    assert done.stderr == "arranging gate.abc\n"
    assert done.stdout.count("\n") == 1
    assert done.stdout.startswith(
        f"{Path('pages/gate.pdf')} (.musicxml .mid .report.json .plan.toml): G major"
    )
    assert ESCAPE not in done.stdout


def test_the_report_has_what_the_contract_names(
    arranged: Arranged,
) -> None:
    report = json.loads((arranged[0] / "pages" / "gate.report.json").read_text(encoding="utf-8"))

    assert (report["key"], report["capo"], report["tuning"], report["level"], report["texture"]) == (
        "G major",
        0,
        "standard",
        "intermediate",
        "running-eighths",
    )
    assert set(report["search"]) == {"seconds", "price", "lower_bound", "optimal"}
    assert report["melody"] == {"from": None, "notes": 8, "changes": [], "rings_on": []}
    assert report["harmony"] == {"found": False, "spans": []}
    assert set(report["holds"]) == {"kept", "given_up", "ring"}
    assert isinstance(report["relaxations"], list)
    assert [bar["number"] for bar in report["bars"]] == ["1", "2", "3", "4"]
    assert all(isinstance(bar["difficulty"], int | float) and bar["parts"] for bar in report["bars"])
    assert {bar["number"] for bar in report["hard_bars"]} <= {"1", "2", "3", "4"}
    assert report["certificate"]["proven"] is True
    assert [rule["rule"] for rule in report["certificate"]["rules"]] == list(SONG_RULES)


def test_the_seconds_of_the_search_are_told_only_when_asked_for(arranged: Arranged, gate: Path) -> None:
    report = json.loads((arranged[0] / "pages" / "gate.report.json").read_text(encoding="utf-8"))
    assert report["search"]["seconds"] is None

    timed = json.loads(run("arrange", gate, "--key", "G", "--timing", "--json").stdout)
    assert timed["songs"][0]["report"]["search"]["seconds"] > 0


def test_the_same_song_gives_the_same_bytes_in_another_process_and_another_folder(
    arranged: Arranged, gate: Path
) -> None:
    run("arrange", gate, "--key", "G")

    assert contents(gate.parent / "arranged") == contents(arranged[0] / "pages")


def test_the_plan_that_was_written_gives_the_same_bytes_when_the_program_chose(gate: Path) -> None:
    first, second = gate.parent / "first", gate.parent / "second"

    assert run("arrange", gate, "--out", first).exit_code == 0
    assert run("arrange", gate, "--out", second, "--plan", first / "gate.plan.toml").exit_code == 0

    assert contents(first) == contents(second)
    assert re.search(r'^key = "[A-G][#b]?"$', (first / "gate.plan.toml").read_text(), re.MULTILINE)
    assert re.search(r"^melody_octave = -?\d$", (first / "gate.plan.toml").read_text(), re.MULTILINE)


def test_options_are_obeyed_and_written_into_the_plan(gate: Path) -> None:
    options = ("--key", "D", "--level", "advanced", "--tuning", "drop-d", "--capo", "2")
    report = json.loads(run("arrange", gate, *options, "--json").stdout)["songs"][0]["report"]
    plan = (gate.parent / "arranged" / "gate.plan.toml").read_text()

    chosen = {name: report[name] for name in ("key", "level", "tuning", "capo")}
    assert chosen == {"key": "D major", "level": "advanced", "tuning": "drop-d", "capo": 2}
    for line in ('key = "D"', 'level = "advanced"', 'tuning = "drop-d"', "capo = 2"):
        assert line in plan.splitlines()


def test_an_option_wins_over_the_plan(gate: Path) -> None:
    plan = gate.parent / "mine.toml"
    plan.write_text('key = "D"\ncapo = 1\n')

    report = json.loads(run("arrange", gate, "--plan", plan, "--key", "G", "--json").stdout)["songs"][0][
        "report"
    ]

    assert (report["key"], report["capo"]) == ("G major", 1)


def test_the_players_own_plan_is_not_written_to(gate: Path) -> None:
    plan = gate.parent / "arranged" / "gate.plan.toml"
    plan.parent.mkdir()
    plan.write_text('# as Ada likes it\nkey = "G"\n')

    done = run("arrange", gate, "--plan", plan)

    assert done.exit_code == 0
    assert ".plan.toml" not in done.stdout
    assert plan.read_text() == '# as Ada likes it\nkey = "G"\n'
    assert (plan.parent / "gate.pdf").exists()


def test_a_folder_is_arranged_song_by_song(gate: Path) -> None:
    gate.with_name("another gate.abc").write_text(GATE)

    done = run("arrange", gate.parent, "--key", "G")

    assert done.exit_code == 0
    assert [line.split(" (")[0] for line in done.stdout.splitlines()] == [
        str(gate.parent / "arranged" / "another gate.pdf"),
        str(gate.parent / "arranged" / "gate.pdf"),
    ]


def test_a_folder_arranged_twice_takes_no_result_for_a_song(gate: Path) -> None:
    for _ in range(2):
        assert run("arrange", gate.parent, "--key", "G").stdout.count("\n") == 1


# Songs that cannot be read.


@pytest.mark.parametrize(
    "content", [b"", b"\x00\x01\x02", b"Dear Sir or Madam,\n", b"<score-partwise><part>", NO_CHORDS.encode()]
)
def test_a_song_that_cannot_be_read_is_told_in_one_line_each_and_the_others_are_done(
    gate: Path, content: bytes
) -> None:
    bad = gate.with_name("bad.abc")
    bad.write_bytes(content)

    done = run("arrange", bad, gate, "--key", "G")

    first, *told, last = done.stderr.splitlines()
    assert done.exit_code == 3
    assert (first, last) == ("arranging bad.abc", "arranging gate.abc")
    assert told
    assert all(line.startswith(f"{bad}: ") for line in told)
    assert done.stdout.startswith(str(gate.parent / "arranged" / "gate.pdf"))
    assert set(contents(gate.parent / "arranged")) == {f"gate{suffix}" for suffix in SUFFIXES}


def test_a_song_that_is_not_there_is_told_and_the_others_are_done(gate: Path) -> None:
    done = run("read", gate.with_name("gone.abc"), gate)

    assert done.exit_code == 3
    assert done.stderr == f"{gate.with_name('gone.abc')}: there is no such file. Is the name right?\n"
    assert "The Gate in the Hedge" in done.stdout


# Wrong use.


@pytest.mark.parametrize(
    ("options", "message"),
    [
        (("--key", "H"), r'^apoyando: --key: key = "H" cannot be meant: write a tonic as "G", "F#" or "Bb"'),
        (("--level", "hard"), "^apoyando: --level: .*early, intermediate, advanced"),
        (("--texture", "polka"), "^apoyando: --texture: .*running-eighths"),
        (("--tuning", "open-g"), "^apoyando: --tuning: .*standard, drop-d"),
        (("--capo", "40"), "^apoyando: --capo: "),
        (("--plan", "gone.toml"), "^apoyando: gone.toml: the plan cannot be read"),
        (
            ("--capo", "two"),
            '^apoyando: --capo: capo = "two" cannot be meant: write a whole number from 0 to',
        ),
        (("--capo", "2.5"), "^apoyando: --capo: capo = 2.5 cannot be meant: write a whole number from 0 to"),
        (("--minutes", "long"), '^apoyando: --minutes: minutes = "long" .* a number from 0.1 to 60'),
        (("--staff", "big"), '^apoyando: --staff, page: staff = "big" .* a number from 4 to 14'),
        (("--zither",), "^apoyando: there is no option --zither. apoyando arrange --help names all"),
        (("--tunning", "drop-d"), "^apoyando: there is no option --tunning; is --tuning meant?"),
        (("--key",), "^apoyando: --key is named without its value"),
        (("--spell-out=no",), "^apoyando: --spell-out takes no value"),
        (("--out", ""), "^apoyando: --out: the name is empty"),
    ],
)
def test_wrong_use_is_told_with_what_would_be_right_before_anything_is_done(
    gate: Path, options: tuple[str, ...], message: str
) -> None:
    done = run("arrange", gate, *options)

    assert done.exit_code == 2
    assert re.search(message, done.stderr)
    assert done.stderr.count("\n") == 1
    assert done.stdout == ""
    assert contents(gate.parent) == {"gate.abc": GATE.encode()}


NUMBERS = [
    (command.name, option.opts[0])
    for command in get_command(app).commands.values()  # type: ignore[attr-defined] # a group's
    for option in command.params
    if option.metavar in {"FRET", "MINUTES", "MM", "DPI", "NUMBER", "DB", "PERCENT", "PORT"}
]


@pytest.mark.parametrize(("command", "option"), NUMBERS)
@pytest.mark.parametrize("value", ["many", "-1000000", "1e400", "nan"])
def test_every_number_is_asked_for_in_the_same_words(
    command: str, option: str, value: str, tmp_path: Path
) -> None:
    song = tmp_path / "gate.abc"
    song.write_text(GATE)
    given = (song.parent / "shelf",) if command == "desk" else (song,)

    done = run(command, *given, f"{option}={value}")

    assert done.exit_code == 2
    assert re.fullmatch(
        rf"apoyando: {option}\b.* cannot be meant: write a (whole )?number from \S+ to \S+\.\n", done.stderr
    )
    assert contents(tmp_path) == {"gate.abc": GATE.encode()}


def test_all_options_that_are_numbers_are_tried_above() -> None:
    assert {option for _, option in NUMBERS} == {
        "--capo",
        "--loop-at",
        "--margin",
        "--melody-over",
        "--minutes",
        "--port",
        "--resolution",
        "--staff",
        "--system",
    }


def test_a_command_that_there_is_not_is_answered_with_those_that_there_are() -> None:
    done = run("harmonize")

    assert done.exit_code == 2
    assert done.stderr.startswith(
        "apoyando: there is no command harmonize. The commands are: arrange, finger"
    )


def test_a_word_too_many_is_named() -> None:
    assert run("levels", "mine.toml").stderr.startswith("apoyando: levels cannot use mine.toml. Leave it out")


@pytest.mark.parametrize("command", ["arrange", "finger", "keys", "lesson", "engrave", "listen", "read"])
def test_an_empty_name_is_not_taken_for_the_folder_that_one_is_in(
    command: str, gate: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A script whose variable is empty must not work through everything that lies about."""
    monkeypatch.chdir(gate.parent)

    done = run(command, "")

    assert done.exit_code == 2
    assert "the name is empty. Write one, or . for the folder" in done.stderr
    assert contents(gate.parent) == {"gate.abc": GATE.encode()}


def test_repeats_are_spelled_out_where_that_is_asked_for(gate: Path) -> None:
    gate.write_text(GATE.replace("|]", ":|"))

    done = run("arrange", gate, "--key", "G", "--spell-out", "--json")

    (entry,) = json.loads(done.stdout)["songs"]
    assert len(entry["report"]["bars"]) == 8


def test_a_part_may_be_named_in_any_script(gate: Path) -> None:
    """Signs beyond the first 65,536 (Unicode, the Musical Symbols block) and bytes that are no text."""
    assert run("read", gate, "--part", "𝄞 Stimme").exit_code == 0
    assert run("read", gate, "--part", os.fsdecode(b"caf\xe9")).exit_code == 0


def test_a_texture_that_there_is_not_is_wrong_use(gate: Path) -> None:
    done = run("arrange", gate, "--texture", "tremolo")

    assert done.exit_code == 2
    assert "running-eighths" in done.stderr
    assert not (gate.parent / "arranged").exists()


def test_two_songs_that_would_become_the_same_files_are_refused_before_anything_is_done(gate: Path) -> None:
    gate.with_suffix(".xml").write_text("<score-partwise/>")

    done = run("arrange", gate.parent)

    assert done.exit_code == 2
    assert "would both be written to" in done.stderr
    assert not (gate.parent / "arranged").exists()


def test_a_song_is_not_overwritten_by_its_own_score(arranged: Arranged, tmp_path: Path) -> None:
    song = tmp_path / "gate.musicxml"
    song.write_bytes(b"the player's only copy")

    done = run("arrange", song, "--out", tmp_path)

    assert done.exit_code == 2
    assert f"{song} is a song and would be overwritten" in done.stderr
    assert contents(tmp_path) == {"gate.musicxml": b"the player's only copy"}


def test_a_folder_without_songs_is_wrong_use(tmp_path: Path) -> None:
    assert run("arrange", tmp_path).exit_code == 2


def test_a_result_that_cannot_be_written_is_wrong_use_and_says_why(gate: Path) -> None:
    (gate.parent / "pages").write_text("a file stands where the folder should be")

    done = run("arrange", gate, "--key", "G", "--out", gate.parent / "pages")

    assert done.exit_code == 2
    assert "cannot be written" in done.stderr
    assert "--out" in done.stderr


@pytest.mark.parametrize("command", ["arrange", "keys", "listen", "read"])
def test_a_command_without_a_song_is_wrong_use_and_asks_for_one(command: str) -> None:
    done = run(command)

    assert done.exit_code == 2
    assert done.stderr.startswith(
        f"apoyando: {command} is given no SONG. Name one; apoyando {command} --help"
    )


# Faults of the program.

REFUTED = Certificate(
    (
        Refutation(
            Rule.HOLDS,
            tuple(
                Witness(
                    breach=Breach.STRING_TAKEN,
                    bar=bar,
                    onset=Fraction(0),
                    offset=Fraction(1),
                    sentence=f"Bar {bar}, beat 1: string 3 is needed twice.",
                )
                for bar in ("7", "9")
            ),
        ),
    )
)


def test_a_refuted_arrangement_is_a_fault_of_the_program_and_nothing_of_it_is_written(
    gate: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    refuted = gate.with_name("a.abc")
    refuted.write_text(GATE)
    answers = iter([REFUTED])
    monkeypatch.setattr(
        verdicts, "prove_arrangement", lambda *given: next(answers, None) or prove_arrangement(*given)
    )

    done = run("arrange", refuted, gate, "--key", "G")

    assert done.exit_code == 1
    assert done.stderr.splitlines()[::2] == ["arranging a.abc", "arranging gate.abc"]
    assert f"{refuted}: this is a fault of the program, not of the song" in done.stderr
    assert "holds: Bar 7, beat 1: string 3 is needed twice. (and 1 more)" in done.stderr
    assert set(contents(gate.parent / "arranged")) == {f"gate{suffix}" for suffix in SUFFIXES}


# What keys tells.


def read_table(stdout: str) -> tuple[list[str], list[list[str]]]:
    """Head and rows of the table under the title; what is folded in the last column is left aside."""
    _, head, *lines = (line.rstrip() for line in stdout.splitlines())
    rows = [re.split(" {2,}", line) for line in lines if not line.startswith(" ")]
    return re.split(" {2,}", head), rows


def test_the_twelve_keys_are_compared_in_both_tunings_the_cheapest_first(gate: Path) -> None:
    done = run("keys", gate)
    head, rows = read_table(done.stdout)

    assert done.exit_code == 0
    assert head == ["key", "tuning", "price", "open basses", "barres", "highest fret", "hardest bar", "why"]
    assert len({(row[0], row[1]) for row in rows}) == len(rows) == 24
    assert {row[1] for row in rows} == {"standard", "drop-d"}
    prices = [int(row[2]) for row in rows]
    assert prices == sorted(prices)


def test_a_tuning_that_is_named_is_the_only_one_and_has_no_column(gate: Path, tmp_path: Path) -> None:
    by_option = read_table(run("keys", gate, "--tuning", "standard").stdout)
    plan = tmp_path / "my.plan.toml"
    plan.write_text('tuning = "standard"\n')

    assert "tuning" not in by_option[0]
    assert len({row[0] for row in by_option[1]}) == len(by_option[1]) == 12
    assert read_table(run("keys", gate, "--plan", plan).stdout) == by_option


def test_with_a_sounding_key_the_shapes_that_reach_it_are_compared(gate: Path) -> None:
    """With the capo at fret n the page is n semitones below what sounds: Bb, A, G#, G, F#, F."""
    done = run("keys", gate, "--sounding", "Bb", "--tuning", "standard")
    head, rows = read_table(done.stdout)

    assert head[:3] == ["key", "capo", "price"]
    assert sorted((int(row[1]), row[0]) for row in rows) == [
        (0, "Bb major"),
        (1, "A major"),
        (2, "Ab major"),
        (3, "G major"),
        (4, "F# major"),
        (5, "F major"),
    ]


def test_the_keys_are_told_to_machines_with_all_that_they_cost(gate: Path) -> None:
    told = json.loads(run("keys", gate, "--sounding", "Bb", "--json").stdout)

    assert (told["exit_code"], told["songs"][0]["status"]) == (0, "done")
    assert len(told["songs"][0]["keys"]) == 12
    for key in told["songs"][0]["keys"]:
        assert list(key) == [
            "key",
            "sounding_key",
            "capo",
            "tuning",
            "price",
            "open_basses",
            "barres",
            "highest_fret",
            "hardest_bar",
            "reasons",
        ]
        assert key["sounding_key"] == "Bb major"
        assert len(key["reasons"]) <= 3


def test_a_song_is_arranged_to_sound_in_the_key_that_is_asked_for(gate: Path) -> None:
    done = run("arrange", gate, "--sounding", "Bb")
    report = json.loads((gate.parent / "arranged" / "gate.report.json").read_text())
    cheapest = json.loads(run("keys", gate, "--sounding", "Bb", "--tuning", "standard", "--json").stdout)

    assert report["sounding_key"] == "Bb major"
    assert f"{report['key']}, capo {report['capo']}: sounds in Bb major" in done.stdout
    assert {name: report[name] for name in ("key", "capo", "tuning")} == {
        name: cheapest["songs"][0]["keys"][0][name] for name in ("key", "capo", "tuning")
    }
    again = run(
        "arrange", gate, "--plan", gate.parent / "arranged" / "gate.plan.toml", "--out", gate.parent / "again"
    )
    assert again.exit_code == 0
    assert contents(gate.parent / "again") == contents(gate.parent / "arranged")


# What read tells.


def test_what_was_understood_is_told_bar_by_bar(gate: Path) -> None:
    done = run("read", gate)

    assert done.exit_code == 0
    assert [re.split(" {2,}", line.strip()) for line in done.stdout.splitlines()] == [
        ["The Gate in the Hedge / apoyando contributors / G major / 3/4"],
        ["bar", "chords", "melody (lengths in quarters)", "form"],
        ["1", "G", "D4 1", "G4 1", "A4 1"],
        ["2", "C", "B4 2", "C5 1"],
        ["3", "D7", "A4 2", "F#4 1"],
        ["4", "G", "G4 3"],
    ]


TWO_PARTS = (
    '<score-partwise version="4.0"><part-list>'
    '<score-part id="P1"><part-name>Piano</part-name></score-part>'
    '<score-part id="P2"><part-name>Voice</part-name></score-part></part-list>'
    '<part id="P1">{piano}</part><part id="P2">{voice}</part></score-partwise>'
)


def measure_of(*pitches: str) -> str:
    """A whole bar of 4/4 with these notes struck together."""
    notes = "".join(
        f"<note>{'<chord/>' * (place > 0)}<pitch><step>{pitch[0]}</step><octave>{pitch[1]}</octave></pitch>"
        "<duration>4</duration><type>whole</type></note>"
        for place, pitch in enumerate(pitches)
    )
    signs = "<attributes><divisions>1</divisions><time><beats>4</beats><beat-type>4</beat-type></time></attributes>"
    return f'<measure number="1">{signs}{notes}</measure>'


def test_chords_that_were_found_stand_in_brackets_and_the_choice_of_the_melody_is_shown(
    tmp_path: Path,
) -> None:
    song = tmp_path / "two.musicxml"
    song.write_text(TWO_PARTS.format(piano=measure_of("C3", "E3", "G3"), voice=measure_of("E5")))
    plan = tmp_path / "two.toml"
    plan.write_text('[[chords]]\nbar = 1\nbeat = 3\nchord = "Am"\n')

    shown = run("read", song, "--plan", plan).stdout
    assert re.search(r"\n1 +\[C\]  Am \(yours\) @3 +E5 4", shown)
    assert "The melody is Voice: by its name." in shown
    assert "with --part: 1 Piano, 2 Voice, 3 top line." in shown
    assert "Chords in brackets are found" in shown

    other = json.loads(run("read", song, "--part", "1", "--json").stdout)["songs"][0]
    assert other["melody_from"] == {
        "part": "Piano",
        "reason": "as you chose",
        "choices": ["Piano", "Voice", "top line"],
    }
    assert (other["chords_found"], other["bars"][0]["chords"][0]["origin"]) == (True, "found")

    wrong = run("read", song, "--part", "Harp")
    assert (wrong.exit_code, "1 (Piano), 2 (Voice)" in wrong.stderr) == (2, True)


def test_the_report_and_the_written_plan_name_what_was_found(tmp_path: Path) -> None:
    song = tmp_path / "two.musicxml"
    song.write_text(TWO_PARTS.format(piano=measure_of("C3", "E3", "G3"), voice=measure_of("E5")))

    assert run("arrange", song, "--key", "C", "--out", tmp_path / "pages").exit_code == 0
    report = json.loads((tmp_path / "pages" / "two.report.json").read_text(encoding="utf-8"))
    assert report["melody"]["from"]["part"] == "Voice"
    assert report["harmony"] == {
        "found": True,
        "spans": [{"bar": "1", "beat": "1", "onset_quarters": "0", "chord": "C", "origin": "found"}],
    }
    assert 'part = "Voice"' in (tmp_path / "pages" / "two.plan.toml").read_text(encoding="utf-8")


def test_what_was_understood_is_told_to_machines(gate: Path) -> None:
    song = json.loads(run("read", gate, "--json").stdout)["songs"][0]

    assert (song["title"], song["key"], song["meter"]) == ("The Gate in the Hedge", "G major", "3/4")
    assert song["tempo_quarters_per_minute"] == "90"
    assert song["bars"][2]["chords"] == [
        {
            "beat": "1",
            "chord": "D7",
            "origin": "written",
            "written": "D7",
            "tones": ["D", "F#", "A", "C"],
            "from_before": False,
        }
    ]
    assert song["bars"][2]["melody"][1] == {
        "beat": "3",
        "pitch": "F#4",
        "quarters": "1",
        "from_before": False,
        "lyrics": [],
    }


def test_problems_are_told_to_machines_and_to_the_player_alike(gate: Path) -> None:
    gone = gate.with_name("gone.abc")

    done = run("read", gone, gate, "--json")
    told = json.loads(done.stdout)

    assert told["exit_code"] == done.exit_code == 3
    assert [song["status"] for song in told["songs"]] == ["cannot be read", "done"]
    assert told["songs"][0]["problems"] == [
        {"place": "", "what": "there is no such file.", "remedy": "Is the name right?"}
    ]
    assert done.stderr.startswith(f"{gone}: ")


# How a run is stopped, and where it is shown.


def test_a_run_that_the_player_stops_ends_with_130_and_without_a_word_of_the_insides(
    gate: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def stop(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(songs, "arrange_song", stop)

    done = run("arrange", gate)

    assert done.exit_code == 130
    assert "Traceback" not in done.output
    assert not (gate.parent / "arranged").exists()


@pytest.mark.skipif(os.name != "posix", reason="signals and terminals as POSIX has them")
class TestOnPosix:
    def test_ctrl_c_stops_the_program_and_its_helpers_quietly(self, gate: Path) -> None:
        gate.write_text(GATE + '"G"D G A | "C"B2 c | "D7"A2 F | "G"G3 |\n' * 30)
        command = [sys.executable, "-m", "apoyando", "arrange", str(gate)]
        with subprocess.Popen(command, stderr=subprocess.PIPE, start_new_session=True) as process:
            wait_for_helpers(process)
            os.killpg(process.pid, signal.SIGINT)
            _, told = process.communicate(timeout=60)

        assert process.returncode == 130
        assert told == b"arranging gate.abc\n"
        assert not (gate.parent / "arranged").exists()

    def test_ctrl_c_is_quiet_while_the_helpers_still_load_too(self, gate: Path) -> None:
        """Where a class is just being made Python itself ends by the signal, which shells count as 130 too."""
        command = [sys.executable, "-m", "apoyando", "arrange", str(gate)]
        with subprocess.Popen(command, stderr=subprocess.PIPE, start_new_session=True) as process:
            wait_until(process, lambda: bool(list_children(process.pid).read_text()))
            os.killpg(process.pid, signal.SIGINT)
            _, told = process.communicate(timeout=60)

        assert process.returncode in {130, -signal.SIGINT}
        assert b"Traceback" not in told
        assert not (gate.parent / "arranged").exists()

    def test_a_reader_that_has_seen_enough_is_no_trouble(self, gate: Path) -> None:
        gate.write_text(GATE + '"G"D G A | "C"B2 c | "D7"A2 F | "G"G3 |\n' * 500)
        program = f"{sys.executable} -m apoyando read {gate} | head -n 1"

        done = subprocess.run(["/bin/sh", "-c", program], capture_output=True, text=True, check=True)

        assert done.stdout.startswith("The Gate in the Hedge")
        assert done.stderr == ""

    @pytest.mark.parametrize("closed", ["2>&-", ">&- 2>&-"])
    def test_a_song_is_arranged_though_nobody_listens(self, closed: str, gate: Path) -> None:
        """As a program without a window starts others: with its streams closed."""
        program = f"{sys.executable} -m apoyando arrange {gate} --key G {closed}"

        assert subprocess.run(["/bin/sh", "-c", program], check=False).returncode == 0
        assert set(contents(gate.parent / "arranged")) == {f"gate{suffix}" for suffix in SUFFIXES}

    @pytest.mark.skipif(not Path("/dev/full").exists(), reason="a full disk as Linux has it")
    def test_a_full_disk_under_the_output_is_told_in_a_line(self, gate: Path) -> None:
        program = f"{sys.executable} -m apoyando read {gate} > /dev/full"

        done = subprocess.run(["/bin/sh", "-c", program], stderr=subprocess.PIPE, text=True, check=False)

        assert done.returncode == 2
        assert done.stderr == (
            "apoyando: what there is to show cannot be written (no space left on device). Make room there.\n"
        )

    def test_on_a_terminal_progress_is_shown_on_stderr_alone(self, gate: Path) -> None:
        ours, theirs = os.openpty()
        command = [sys.executable, "-m", "apoyando", "arrange", str(gate), "--key", "G"]
        environment = {**os.environ, "TERM": "xterm"}
        done = subprocess.run(command, stdout=subprocess.PIPE, stderr=theirs, env=environment, check=True)
        os.close(theirs)
        shown = os.read(ours, 65536).decode()
        os.close(ours)

        assert "arranging gate.abc" in shown
        assert ESCAPE in shown
        assert ESCAPE not in done.stdout.decode()
        assert "gate.pdf" in done.stdout.decode()

    def test_a_name_that_is_not_utf_8_is_no_trouble(self, tmp_path: Path) -> None:
        song = os.fsencode(tmp_path) + b"/caf\xe9.abc"
        Path(os.fsdecode(song)).write_text(GATE.replace("T:The Gate in the Hedge\n", ""))
        command = [os.fsencode(sys.executable), b"-m", b"apoyando", b"arrange", song, b"--key", b"G"]

        done = subprocess.run(command, capture_output=True, check=False)

        assert (done.returncode, done.stderr) == (0, b"arranging caf\\udce9.abc\n")
        assert done.stdout.startswith(os.fsencode(tmp_path / "arranged"))


# Help.

HEAVY = ("lxml", "mido", "music21", "numpy", "resvg_py", "rich", "soundfile", "tomlkit", "typst", "verovio")


def test_help_loads_nothing_heavy() -> None:
    program = (
        "import sys; from typer.testing import CliRunner; from apoyando.cli import app;"
        "CliRunner().invoke(app, ['arrange', '--help']); print(*sorted(sys.modules))"
    )
    loaded = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True)

    assert not {name.partition(".")[0] for name in loaded.stdout.split()} & set(HEAVY)


def test_the_program_without_a_command_shows_its_help_and_is_wrong_use() -> None:
    done = run()

    assert done.exit_code == 2
    assert "Commands:" in done.stderr


@pytest.mark.parametrize("command", ["arrange", "keys", "listen", "read"])
def test_help_names_every_option_without_escape_codes(command: str) -> None:
    done = run(command, "--help")

    assert done.exit_code == 0
    assert "--json" in done.stdout
    assert ESCAPE not in done.stdout


def test_the_version_is_told() -> None:
    assert run_program("--version").stdout == f"apoyando {__version__}\n"


def test_the_manual_has_the_help_texts_as_they_are() -> None:
    """Written by ``make docs``."""
    script = Path(__file__).parents[2] / "docs" / "write_cli.py"

    subprocess.run([sys.executable, script, "--check"], check=True)
