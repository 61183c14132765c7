"""``apoyando finger``: guitar music that is there already, as a player and as a program meet it."""

import json
from pathlib import Path
from typing import Any

import pytest
from lxml import etree
from pypdf import PdfReader
from typer.testing import CliRunner, Result

from apoyando.cli import app
from apoyando.engraving import notate, notate_whole, write_musicxml
from apoyando.model.instrument import DROP_D_TUNING
from apoyando.model.sheet import Sheet, Staves
from apoyando.reading import read_score
from apoyando.sound import write_midi
from builders import make_arrangement, make_line, make_note
from guitar_scores import finger, make_score, spell_places
from reading import musicxml_examples as xml

SUFFIXES = (".pdf", ".musicxml", ".mid", ".report.json", ".plan.toml")
WRITTEN = make_arrangement(
    (
        make_note("melody", 0, 2, "E4", string=2, finger=4, pluck="m"),
        make_note("melody", 2, 2, "F4", string=1, finger=1, pluck="a"),
        *make_line("bass", "A2:4"),
    ),
    is_arranged=False,
)
"""E4 on string 2 fret 5 by finger 4, where everyone else would take the open string."""


def run(*arguments: str | Path) -> Result:
    return CliRunner().invoke(
        app, [str(each) for each in arguments], prog_name="apoyando", catch_exceptions=False
    )


@pytest.fixture
def study(tmp_path: Path) -> Path:
    file = tmp_path / "study.musicxml"
    file.write_bytes(write_musicxml(notate(WRITTEN)))
    return file


def read_report(folder: Path, name: str = "study") -> dict[str, Any]:
    report: dict[str, Any] = json.loads((folder / f"{name}.report.json").read_text(encoding="utf-8"))
    return report


def fingered_places(folder: Path, name: str = "study") -> str:
    """As the written MusicXML has them."""
    score = read_score((folder / f"{name}.musicxml").read_bytes(), name)
    return " ".join(f"{one.pitch}@{one.given.string}.{one.given.finger:d}" for one in score.notes)


def test_the_five_files_are_written_beside_the_score_in_a_folder_of_their_own(study: Path) -> None:
    result = run("finger", study)

    assert result.exit_code == 0, result.output
    assert {path.name for path in (study.parent / "fingered").iterdir()} == {f"study{s}" for s in SUFFIXES}
    assert "study.pdf" in result.stdout


def test_the_fingering_that_is_written_is_kept(study: Path, tmp_path: Path) -> None:
    run("finger", study, "--out", tmp_path / "kept")

    assert fingered_places(tmp_path / "kept") == "E4@2.4 A2@5.0 F4@1.1"
    assert read_report(tmp_path / "kept")["texture"] == "as written"


def test_the_page_does_not_claim_an_arrangement_that_the_score_does_not(study: Path) -> None:
    run("finger", study)
    text = PdfReader(study.parent / "fingered" / "study.pdf").pages[0].extract_text()

    assert "A Small Tune" in text
    assert "arr." not in text


def test_with_refinger_it_is_not(study: Path, tmp_path: Path) -> None:
    run("finger", study, "--out", tmp_path / "anew", "--refinger")

    assert fingered_places(tmp_path / "anew").startswith("E4@1.0")


def test_a_midi_file_is_fingered_and_what_was_guessed_is_in_the_report(tmp_path: Path) -> None:
    file = tmp_path / "study.mid"
    file.write_bytes(write_midi(WRITTEN))
    result = run("finger", file)

    assert result.exit_code == 0, result.output
    assert "2 remarks on the source" in result.stdout
    assert "MIDI has no note values" in json.dumps(read_report(tmp_path / "fingered")["remarks"])


def test_what_cannot_be_kept_is_in_the_report_with_its_bar_and_beat(tmp_path: Path) -> None:
    text = xml.score(
        xml.measure(
            xml.FOUR_FOUR
            + xml.note(
                "E4", 8, "<notations><technical><string>6</string><fret>3</fret></technical></notations>"
            )
        )
    )
    (tmp_path / "study.musicxml").write_text(text)
    run("finger", tmp_path / "study.musicxml")
    (entry,) = read_report(tmp_path / "fingered")["relaxations"]

    assert (entry["step"], entry["bar"], entry["beat"]) == ("written fingering let go", "1", "1")


def test_every_piece_is_proven_by_the_rules_for_scores(study: Path) -> None:
    run("finger", study)
    certificate = read_report(study.parent / "fingered")["certificate"]

    assert certificate["proven"]
    assert [rule["rule"] for rule in certificate["rules"]][-1] == "score"


def test_tuning_and_capo_are_the_score_s_unless_they_are_named(tmp_path: Path) -> None:
    low = xml.measure(
        xml.FOUR_FOUR.replace("</attributes>", "<staff-details><capo>2</capo></staff-details></attributes>")
        + "<direction><direction-type><scordatura><accord string='6'><tuning-step>D</tuning-step>"
        "<tuning-octave>2</tuning-octave></accord></scordatura></direction-type></direction>"
        + xml.note("D2", 1)
        + 7 * xml.note("E4", 1)
    )
    low += xml.measure(8 * xml.note("E4", 1), 2)
    (tmp_path / "low.musicxml").write_text(xml.score(low))
    run("finger", tmp_path / "low.musicxml")
    run(
        "finger",
        tmp_path / "low.musicxml",
        "--capo",
        "0",
        "--tuning",
        "standard",
        "--out",
        tmp_path / "asked",
    )
    own, asked = read_report(tmp_path / "fingered", "low"), read_report(tmp_path / "asked", "low")

    assert (own["tuning"], own["capo"], own["relaxations"]) == ("drop-d", 2, [])
    assert (asked["tuning"], asked["capo"]) == ("standard", 0)
    assert asked["relaxations"][0]["step"] == "for the player to decide"


def staves_of(folder: Path) -> list[str]:
    root = etree.fromstring((folder / "study.musicxml").read_bytes())
    return [clef.findtext("sign") for clef in root.iter("clef")]


@pytest.mark.parametrize(
    ("written", "printed"),
    [
        (Staves.NOTATION, ["G"]),
        (Staves.NOTATION_AND_TABLATURE, ["G", "TAB"]),
        (Staves.TABLATURE, ["G", "TAB"]),
    ],
)
def test_a_score_with_tablature_comes_back_with_tablature_and_its_fingers(
    tmp_path: Path, written: Staves, printed: list[str]
) -> None:
    """In tablature alone no fingers are printed: notation goes over it."""
    file = write_musicxml(notate_whole(Sheet(staves=written), WRITTEN))
    (tmp_path / "study.musicxml").write_bytes(file)
    run("finger", tmp_path / "study.musicxml")

    assert staves_of(tmp_path / "fingered") == printed


@pytest.mark.parametrize(
    ("plan", "printed"),
    [
        ('[page]\nstaves = "notation"', ["G"]),
        ('[page]\nstaves = "tablature"', ["TAB"]),
        ('level = "early"\n[page]\npaper = "letter"', ["G", "TAB"]),
    ],
)
def test_a_plan_that_names_the_staves_counts_before_the_score(
    tmp_path: Path, plan: str, printed: list[str]
) -> None:
    sheet = Sheet(staves=Staves.NOTATION_AND_TABLATURE)
    (tmp_path / "study.musicxml").write_bytes(write_musicxml(notate_whole(sheet, WRITTEN)))
    (tmp_path / "mine.toml").write_text(plan)
    run("finger", tmp_path / "study.musicxml", "--plan", tmp_path / "mine.toml")

    assert staves_of(tmp_path / "fingered") == printed


def test_a_plan_that_does_not_name_tuning_and_capo_leaves_them_to_the_score(tmp_path: Path) -> None:
    low = make_arrangement(make_line("melody", "E4:4"), tuning=DROP_D_TUNING, capo=2)
    (tmp_path / "study.musicxml").write_bytes(write_musicxml(notate(low)))
    for name, plan in (("level", 'level = "early"'), ("capo", "capo = 0")):
        (tmp_path / "mine.toml").write_text(plan)
        run("finger", tmp_path / "study.musicxml", "--plan", tmp_path / "mine.toml", "--out", tmp_path / name)
    reports = [read_report(tmp_path / name) for name in ("level", "capo")]

    assert [(report["tuning"], report["capo"]) for report in reports] == [("drop-d", 2), ("drop-d", 0)]


def test_the_written_plan_gives_the_same_files_again(study: Path, tmp_path: Path) -> None:
    run("finger", study, "--level", "advanced", "--out", tmp_path / "one")
    run("finger", study, "--plan", tmp_path / "one" / "study.plan.toml", "--out", tmp_path / "two")

    for suffix in SUFFIXES:
        name = f"study{suffix}"
        assert (tmp_path / "one" / name).read_bytes() == (tmp_path / "two" / name).read_bytes(), name


def test_a_folder_of_scores_is_worked_through_and_a_bad_one_does_not_stop_the_others(
    study: Path, tmp_path: Path
) -> None:
    (tmp_path / "broken.mid").write_bytes(b"MThd")
    result = run("finger", tmp_path, "--out", tmp_path / "pages", "--json")
    told = json.loads(result.stdout)

    assert result.exit_code == 3
    assert [(Path(each["song"]).name, each["status"]) for each in told["songs"]] == [
        ("broken.mid", "cannot be read"),
        ("study.musicxml", "done"),
    ]


def test_a_lead_sheet_in_abc_is_refused_with_what_to_bring(tmp_path: Path) -> None:
    (tmp_path / "song.abc").write_text("X:1\nK:C\nCDEF|\n")
    result = run("finger", tmp_path / "song.abc")

    assert result.exit_code == 3
    assert "MusicXML" in result.stderr


def test_the_page_s_own_fingering_is_that_of_the_room_behind_it(tmp_path: Path) -> None:
    score = make_score("E4:1 G4:1 C5:2", "C3:4")
    text = xml.score(
        xml.measure(
            xml.FOUR_FOUR
            + xml.note("E4", 2)
            + xml.note("G4", 2)
            + xml.note("C5", 4)
            + "<backup><duration>8</duration></backup>"
            + xml.note("C3", 8, "<voice>2</voice>")
        )
    )
    (tmp_path / "study.musicxml").write_text(text)
    run("finger", tmp_path / "study.musicxml")

    assert sorted(fingered_places(tmp_path / "fingered").split()) == sorted(
        spell_places(finger(score)).split()
    )
