"""Real songs, messy as they come: every one must finish, whole, certified and clean.

The sources: the lead sheets of the OpenEWLD data set (MIT, doi 10.5281/zenodo.4332855) that
lie beside the project in ``shared/leadsheets``, if they do; and the tunes with chord symbols
in music21's corpus (``nottingham-dataset/reelsa-c.abc``, ``leadSheet/*``). What comes out is
read again from its MusicXML alone by ``references/page_checker.py``.
"""

import re
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from pathlib import Path

import pytest
from music21 import common

from apoyando.arranging.key_prices import keep_to_level_in_key, price_in_key
from apoyando.arranging.keys import key_named
from apoyando.model.arrangement import RelaxationStep, Role
from apoyando.model.plan import TEXTURES, Melody, Plan
from apoyando.model.song import Song
from apoyando.pipeline import Piece, make_piece, make_ruler
from apoyando.reading import load_default_levels, read_song
from references.page_checker import check_page, measure_page, read_page

LEAD_SHEETS = sorted((Path(__file__).parents[2] / "shared" / "leadsheets").glob("*.mxl"))
CORPUS = Path(str(common.getCorpusFilePath()))
EXAMPLES = Path(__file__).parents[1] / "examples"
LEVELS = load_default_levels()


@dataclass(frozen=True)
class Row:
    """One line of the table that is printed after the tests."""

    name: str
    piece: Piece
    motion: float | None


MOST_UNPROVEN = 1.03
ROWS: list[Row] = []


@pytest.fixture(scope="module", autouse=True)
def table(request: pytest.FixtureRequest) -> Iterator[None]:
    yield
    capture = request.config.pluginmanager.getplugin("capturemanager")
    with capture.global_and_fixture_disabled():
        print("\n" + "\n".join(table_lines(ROWS)))  # noqa: T201 - the table is asked for


def table_lines(rows: list[Row]) -> list[str]:
    lines = [f"{'song':38} {'key':9} bars notes motion barres holds-given-up relaxed price/bar"]
    for row in rows:
        made = row.piece.arrangement
        steps = Counter(relaxation.step for relaxation in made.relaxations)
        motion = "-" if row.motion is None else f"{row.motion:.0%}"
        relaxed = ", ".join(f"{count} {step}" for step, count in steps.most_common(2))
        lines.append(
            f"{row.name[:38]:38} {made.key!s:9} {len(made.bars):4} {len(made.notes):5} {motion:>6}"
            f" {len(made.barres):6} {len(made.given_up_holds):14} {relaxed or '-'}"
            f" {made.search.price / len(made.bars):.0f}"
        )
    return lines


def check(name: str, piece: Piece) -> None:
    """The physical questions, asked again of the MusicXML; and nothing lost in silence."""
    xml = piece.outputs[".musicxml"]
    song = piece.song
    assert isinstance(song, Song)
    assert piece.certificate.is_proven
    # Where bars come again there may be no proof that they cannot be played alike for less.
    search = piece.arrangement.search
    assert search.lower_bound <= search.price <= search.lower_bound * MOST_UNPROVEN
    melody = [(note.onset, note.duration, int(note.pitch.midi)) for note in song.melody]
    changes = piece.arrangement.melody_changes
    played = piece.arrangement.voice(Role.MELODY)
    onsets = [note.onset for note in (*song.melody, *played)]
    changed = [onset for onset in onsets if any(change.covers(onset) for change in changes)]
    assert check_page(xml, melody=melody, changed=changed) == []
    if all(change.until is None for change in changes):
        assert len(played) == len(song.melody)
    steps = {relaxation.step for relaxation in piece.arrangement.relaxations}
    assert RelaxationStep.PLAYER_DECIDES not in steps
    ROWS.append(Row(name, piece, measure_page(read_page(xml)).motion))


@pytest.mark.skipif(not LEAD_SHEETS, reason="the lead sheets are not beside the project")
@pytest.mark.parametrize("path", LEAD_SHEETS, ids=lambda path: path.stem)
def test_every_lead_sheet_comes_out_whole_and_clean(path: Path) -> None:
    check(path.stem, make_piece(path.read_bytes(), path.name, Plan(), LEVELS))


@pytest.mark.skipif(not LEAD_SHEETS, reason="the lead sheets are not beside the project")
@pytest.mark.parametrize("name", ["swing-low-sweet-chariot", "wexford-carol"])
def test_a_lead_sheet_with_its_melody_made_simpler_comes_out_clean_and_nothing_in_it_is_short(
    name: str,
) -> None:
    """Both are full of sixteenths and dotted eighths."""
    path = LEAD_SHEETS[0].with_stem(name)
    piece = make_piece(path.read_bytes(), path.name, Plan(melody=Melody.SIMPLER), LEVELS)
    check(f"{name}, simpler", piece)
    assert min(note.duration for note in piece.arrangement.voice(Role.MELODY)) == Fraction(1, 2)
    assert any(change.until is not None for change in piece.arrangement.melody_changes)


@pytest.mark.skipif(not LEAD_SHEETS, reason="the lead sheets are not beside the project")
@pytest.mark.parametrize("name", ["red-river-valley", "santa-lucia", "shenandoah"])
@pytest.mark.parametrize("texture", TEXTURES)
def test_every_texture_of_a_lead_sheet_is_clean_on_the_page(texture: str, name: str) -> None:
    (path,) = (each for each in LEAD_SHEETS if each.stem == name)
    plan = Plan(texture=texture, key=str(read_song(path.read_bytes(), path.name).key.tonic))
    piece = make_piece(path.read_bytes(), path.name, plan, LEVELS)
    assert piece.certificate.is_proven
    assert check_page(piece.outputs[".musicxml"]) == []


@pytest.mark.skipif(not LEAD_SHEETS, reason="the lead sheets are not beside the project")
def test_a_key_is_not_weighed_as_dearer_than_the_piece_is_in_it() -> None:
    """Bars that come again, played as one of them first came to hand, cost five per cent more."""
    path = LEAD_SHEETS[0].with_stem("on-top-of-old-smoky")
    song, level = read_song(path.read_bytes(), path.name), LEVELS["intermediate"]
    plan = Plan(key="D")
    key = key_named(plan.key, song)
    kept = keep_to_level_in_key(song, plan, level, key, make_ruler(plan, LEVELS))
    least = price_in_key(song, replace(plan, same_fingering=False), level, key)
    assert kept.price <= least * 1.02


@pytest.mark.parametrize("path", sorted((CORPUS / "leadSheet").glob("*.mxl")), ids=lambda path: path.stem)
def test_the_lead_sheets_of_music21_s_corpus_come_out_too(path: Path) -> None:
    check(path.stem, make_piece(path.read_bytes(), path.name, Plan(), LEVELS))


def test_the_reels_of_the_nottingham_collection_come_out_too() -> None:
    data = (CORPUS / "nottingham-dataset" / "reelsa-c.abc").read_bytes()
    tunes = [b"X:" + tune for tune in re.split(rb"^X:", data, flags=re.MULTILINE)[1:]]
    assert len(tunes) == 2
    for tune in tunes:
        piece = make_piece(tune, "reel.abc", Plan(), LEVELS)
        check(piece.song.title, piece)


@pytest.mark.parametrize(
    "path", sorted(p for p in EXAMPLES.iterdir() if p.suffix != ".md"), ids=lambda path: path.name
)
def test_every_example_comes_out_in_its_own_key(path: Path) -> None:
    song = read_song(path.read_bytes(), path.name)
    plan = Plan(key=str(song.key.tonic))
    check(path.name, make_piece(path.read_bytes(), path.name, plan, LEVELS))
