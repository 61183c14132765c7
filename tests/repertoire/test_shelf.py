"""The shelf: a folder of plain files that the player owns."""

from collections.abc import Sequence
from pathlib import Path

import pytest

from apoyando.model.errors import UnreadableSongError, UsageError
from apoyando.model.plan import Plan
from apoyando.reading import load_default_levels, read_plan, rewrite_plan, write_plan
from apoyando.repertoire import Shelf, SongEntry, State, UnknownSongError

LEVELS = load_default_levels()
WALTZ = """X:1
T:The Mill Wheel
C:our own
M:3/4
L:1/4
Q:1/4=120
K:G
"G"B d g | "C"e2 c | "D7"A c f | "G"g3 |]
"""
AIR = """X:1
T:An Evening Air
M:4/4
L:1/4
Q:1/4=60
K:Am
"Am"A c e2 | "E7"^G B e2 | "Am"A4 |]
"""


@pytest.fixture
def shelf(tmp_path: Path) -> Shelf:
    return Shelf(tmp_path / "shelf", LEVELS)


def bring(shelf: Shelf, text: str, name: str = "brought.abc") -> str:
    return shelf.bring_in(text.encode(), name)


def files_of(shelf: Shelf, folder: str) -> set[str]:
    return {path.name for path in (shelf.folder / folder).iterdir()}


def titles(songs: tuple[SongEntry, ...]) -> list[str]:
    return [song.title for song in songs]


def test_a_song_gets_a_folder_of_plain_files_named_by_its_title(shelf: Shelf) -> None:
    bring(shelf, WALTZ)

    assert files_of(shelf, "the-mill-wheel") == {
        "the-mill-wheel.abc",
        "plan.toml",
        "notes.txt",
        "state.txt",
        "history",
    }
    assert (shelf.folder / "the-mill-wheel" / "the-mill-wheel.abc").read_text() == WALTZ


def test_two_songs_of_one_title_lie_side_by_side(shelf: Shelf) -> None:
    one, other = bring(shelf, WALTZ), bring(shelf, WALTZ)

    assert one != other
    assert sorted(song.folder for song in shelf.list_songs()) == ["the-mill-wheel", "the-mill-wheel-2"]


@pytest.mark.parametrize(
    ("title", "folder"),
    [("Ännchen, ach!", "annchen-ach"), ("../../etc", "etc"), ("夜", "song"), (".", "song")],
)
def test_a_title_never_leads_out_of_the_shelf(shelf: Shelf, title: str, folder: str) -> None:
    bring(shelf, WALTZ.replace("The Mill Wheel", title))

    (song,) = shelf.list_songs()
    assert song.folder == folder
    assert {path.name for path in shelf.folder.parent.iterdir()} == {"shelf"}


def test_a_song_that_cannot_be_read_leaves_nothing_behind(shelf: Shelf) -> None:
    with pytest.raises(UnreadableSongError):
        bring(shelf, WALTZ.replace('"', "%"))
    with pytest.raises(UsageError, match=r"ends in one of \.abc"):
        bring(shelf, WALTZ, "tune.exe")

    assert shelf.list_songs() == ()


def test_the_shelf_shows_title_key_level_length_and_state(shelf: Shelf) -> None:
    """4 bars of 3 quarters at 120 a minute last 6 seconds."""
    song_id = bring(shelf, WALTZ)

    (song,) = shelf.list_songs()
    assert song == SongEntry(
        id=song_id,
        folder="the-mill-wheel",
        title="The Mill Wheel",
        composer="our own",
        key="G major",
        level="intermediate",
        bars=4,
        minutes=0.1,
        state=State.DRAFT,
    )


def test_the_key_of_the_page_is_shown_once_it_is_decided(shelf: Shelf) -> None:
    shelf.change_plan(bring(shelf, AIR), {"key": "E"})

    assert [song.key for song in shelf.list_songs()] == ["E minor"]


@pytest.mark.parametrize(
    ("search", "found"),
    [
        ("", ["An Evening Air", "The Mill Wheel"]),
        ("mill", ["The Mill Wheel"]),
        ("OWN wheel", ["The Mill Wheel"]),
        ("a minor", ["An Evening Air"]),
        ("wedding", ["An Evening Air"]),
        ("100%", []),
        ("wheel air", []),
    ],
)
def test_a_search_finds_all_its_words_in_any_place(shelf: Shelf, search: str, found: list[str]) -> None:
    bring(shelf, WALTZ)
    shelf.write_notes(bring(shelf, AIR), "for the wedding in May")

    assert titles(shelf.list_songs(search)) == found


@pytest.mark.parametrize(
    ("sort", "first"),
    [
        ("title", "An Evening Air"),
        ("key", "An Evening Air"),
        ("length", "The Mill Wheel"),
        ("level", "The Mill Wheel"),
        ("state", "The Mill Wheel"),
        ("; DROP TABLE songs", "An Evening Air"),
    ],
)
def test_it_sorts_by_what_it_shows(shelf: Shelf, sort: str, first: str) -> None:
    """The air lasts 12 quarters at 60, is for advanced players, and is ready."""
    bring(shelf, WALTZ)
    air = bring(shelf, AIR)
    shelf.change_plan(air, {"level": "advanced"})
    shelf.set_state(air, "ready")

    up, down = shelf.list_songs(sort=sort), shelf.list_songs(sort=sort, descending=True)
    assert up[0].title == first
    assert titles(down) == titles(up)[::-1]


def test_the_index_is_made_anew_from_the_files(shelf: Shelf) -> None:
    shelf.set_state(bring(shelf, WALTZ), "proofed")
    before = shelf.list_songs()

    (shelf.folder / "index.sqlite").unlink()
    assert shelf.list_songs() == before

    (shelf.folder / "index.sqlite").write_bytes(b"nonsense" * 1000)
    assert Shelf(shelf.folder, LEVELS).list_songs() == before


def test_what_is_done_with_the_folders_outside_is_seen(shelf: Shelf) -> None:
    bring(shelf, WALTZ)
    air = shelf.folder / "by-hand"
    air.mkdir()
    (air / "air.abc").write_text(AIR)

    assert titles(shelf.list_songs()) == ["An Evening Air", "The Mill Wheel"]

    (shelf.folder / "the-mill-wheel").rename(shelf.folder.parent / "elsewhere")
    assert titles(shelf.list_songs()) == ["An Evening Air"]


def test_a_song_that_was_spoiled_outside_says_so_and_does_not_hide_the_others(shelf: Shelf) -> None:
    bring(shelf, WALTZ)
    bring(shelf, AIR)
    (shelf.folder / "the-mill-wheel" / "the-mill-wheel.abc").write_text("no tune")

    spoiled, air = sorted(shelf.list_songs(), key=lambda song: song.folder, reverse=True)
    assert "no ABC tune" in spoiled.trouble
    assert (air.title, air.trouble) == ("An Evening Air", "")


def test_an_id_that_is_not_on_the_shelf_is_refused(shelf: Shelf) -> None:
    bring(shelf, WALTZ)

    for song_id in ("the-mill-wheel", "../shelf", "", "0" * 16):
        with pytest.raises(UnknownSongError):
            shelf.open_song(song_id)


def test_a_plan_that_cannot_be_meant_is_refused_and_changes_nothing(shelf: Shelf) -> None:
    song_id = bring(shelf, WALTZ)

    with pytest.raises(UsageError, match="capo = 99 cannot be meant"):
        shelf.change_plan(song_id, {"capo": 99})
    with pytest.raises(UsageError, match="there is no entry cappo"):
        shelf.change_plan(song_id, {"cappo": 1})

    song = shelf.open_song(song_id)
    assert (song.plan, song.steps.last) == (Plan(), 0)


def test_every_step_is_in_the_plan_file_at_once(shelf: Shelf) -> None:
    song_id = bring(shelf, WALTZ)
    shelf.change_plan(song_id, {"capo": 2, "melody_octave": -1})

    plan = read_plan((shelf.folder / "the-mill-wheel" / "plan.toml").read_text(), "plan.toml")
    assert (plan.capo, plan.melody_octave) == (2, -1)


def test_undo_and_redo_go_through_all_steps(shelf: Shelf) -> None:
    song_id = bring(shelf, WALTZ)
    for capo in range(1, 10):
        shelf.change_plan(song_id, {"capo": capo})

    back = []
    while shelf.undo(song_id).now:
        back.append(plan_of(shelf, song_id).capo)
    assert back == [8, 7, 6, 5, 4, 3, 2, 1]
    assert plan_of(shelf, song_id) == Plan()
    assert shelf.undo(song_id).now == 0

    for _ in range(20):
        shelf.redo(song_id)
    assert plan_of(shelf, song_id).capo == 9


def test_a_new_decision_after_undo_takes_the_place_of_what_was_undone(shelf: Shelf) -> None:
    song_id = bring(shelf, WALTZ)
    for capo in (1, 2, 3):
        shelf.change_plan(song_id, {"capo": capo})
    shelf.undo(song_id)
    shelf.undo(song_id)
    shelf.change_plan(song_id, {"tuning": "drop-d"})

    song = shelf.open_song(song_id)
    assert (song.steps.now, song.steps.last) == (2, 2)
    assert song.plan == Plan(capo=1, tuning="drop-d")


def test_what_changes_nothing_is_no_step(shelf: Shelf) -> None:
    song_id = bring(shelf, WALTZ)

    assert shelf.change_plan(song_id, {"capo": 0}).last == 0


def test_a_plan_edited_outside_becomes_a_step_and_can_be_undone(shelf: Shelf) -> None:
    song_id = bring(shelf, WALTZ)
    shelf.change_plan(song_id, {"capo": 1})
    (shelf.folder / "the-mill-wheel" / "plan.toml").write_text('level = "early" # by hand\n')

    song = shelf.open_song(song_id)
    assert (song.plan, song.steps.now) == (Plan(level="early"), 2)
    shelf.undo(song_id)
    assert plan_of(shelf, song_id) == Plan(capo=1)
    shelf.redo(song_id)
    assert "by hand" in shelf.open_song(song_id).plan_text


def test_a_plan_spoiled_outside_is_told_and_can_be_undone(shelf: Shelf) -> None:
    song_id = bring(shelf, WALTZ)
    (shelf.folder / "the-mill-wheel" / "plan.toml").write_text("level = ")

    song = shelf.open_song(song_id)
    assert song.plan is None
    assert "not a settings file" in song.entry.trouble
    shelf.undo(song_id)
    assert plan_of(shelf, song_id) == Plan()


def test_the_text_of_a_song_is_a_step_too(shelf: Shelf) -> None:
    song_id = bring(shelf, WALTZ)
    shelf.change_plan(song_id, {"capo": 1})
    other = WALTZ.replace("K:G", "K:D")
    shelf.change_song(song_id, other)
    shelf.change_plan(song_id, {"capo": 2})

    assert shelf.open_song(song_id).data == other.encode()
    shelf.undo(song_id)
    shelf.undo(song_id)
    song = shelf.open_song(song_id)
    assert (song.data, song.plan) == (WALTZ.encode(), Plan(capo=1))
    shelf.redo(song_id)
    assert shelf.open_song(song_id).data == other.encode()


def test_a_text_that_cannot_be_read_is_not_kept(shelf: Shelf) -> None:
    song_id = bring(shelf, WALTZ)

    with pytest.raises(UnreadableSongError):
        shelf.change_song(song_id, AIR.replace('"', "%"))
    assert shelf.open_song(song_id).data == WALTZ.encode()


def test_what_the_program_chose_is_written_into_the_step_that_asked(shelf: Shelf) -> None:
    song_id = bring(shelf, WALTZ)
    text = shelf.open_song(song_id).plan_text
    shelf.settle_plan(song_id, text, Plan(key="D"))

    song = shelf.open_song(song_id)
    assert (song.plan, song.steps.last) == (Plan(key="D"), 0)


def test_a_choice_of_the_program_never_takes_the_place_of_a_newer_decision(shelf: Shelf) -> None:
    song_id = bring(shelf, WALTZ)
    text = shelf.open_song(song_id).plan_text
    shelf.change_plan(song_id, {"capo": 3})
    shelf.settle_plan(song_id, text, Plan(key="D"))

    assert plan_of(shelf, song_id) == Plan(capo=3)


def test_a_plan_that_is_edited_while_a_choice_is_put_into_words_stays_as_edited(
    shelf: Shelf, monkeypatch: pytest.MonkeyPatch
) -> None:
    song_id = bring(shelf, WALTZ)
    text = shelf.open_song(song_id).plan_text
    (file,) = shelf.folder.glob("*/plan.toml")

    def edit_meanwhile(before: str, plan: Plan, levels: Sequence[str]) -> str:
        file.write_text("capo = 3\n")
        return rewrite_plan(before, plan, levels)

    monkeypatch.setattr("apoyando.repertoire.shelf.rewrite_plan", edit_meanwhile)
    shelf.settle_plan(song_id, text, Plan(key="D"))

    assert plan_of(shelf, song_id) == Plan(capo=3)


def test_a_folder_put_there_by_hand_gets_its_history_when_it_is_opened(shelf: Shelf) -> None:
    folder = shelf.folder / "by-hand"
    folder.mkdir(parents=True)
    (folder / "air.abc").write_text(AIR)
    (folder / "plan.toml").write_text(write_plan(Plan(key="E")))
    (song,) = shelf.list_songs()

    assert shelf.open_song(song.id).plan == Plan(key="E")
    shelf.change_plan(song.id, {"key": "A"})
    shelf.undo(song.id)
    assert plan_of(shelf, song.id) == Plan(key="E")


def plan_of(shelf: Shelf, song_id: str) -> Plan:
    plan = shelf.open_song(song_id).plan
    assert plan
    return plan


def test_a_song_that_is_taken_off_keeps_all_that_is_in_its_folder(shelf: Shelf) -> None:
    song_id = bring(shelf, WALTZ)
    shelf.change_plan(song_id, {"key": "D"})
    shelf.write_notes(song_id, "for the wedding")
    before = {path.name: path.read_bytes() for path in (shelf.folder / "the-mill-wheel").glob("*.*")}

    shelf.take_off(song_id)

    assert shelf.list_songs() == ()
    with pytest.raises(UnknownSongError):
        shelf.open_song(song_id)
    kept = shelf.folder / "taken off" / "the-mill-wheel"
    assert {path.name: path.read_bytes() for path in kept.glob("*.*")} == before
    assert (kept / "history" / "000001.plan.toml").exists()


def test_a_song_that_was_taken_off_is_brought_back_as_it_was(shelf: Shelf) -> None:
    song_id = bring(shelf, WALTZ)
    shelf.change_plan(song_id, {"key": "D"})
    taken = shelf.take_off(song_id)
    assert [(song.id, song.title) for song in shelf.list_taken_off()] == [(taken, "The Mill Wheel")]

    back = shelf.bring_back(taken)

    song = shelf.open_song(back)
    assert (back, song.steps.now, song.plan) == (song_id, 1, Plan(key="D"))
    assert (shelf.list_taken_off(), shelf.count_taken_off()) == ((), 0)
    with pytest.raises(UnknownSongError):
        shelf.bring_back(taken)


def test_songs_of_one_name_do_not_push_each_other_out(shelf: Shelf) -> None:
    taken = [shelf.take_off(bring(shelf, WALTZ)) for _ in range(2)]
    bring(shelf, WALTZ)
    assert len(set(taken)) == 2

    for each in taken:
        shelf.bring_back(each)
    assert titles(shelf.list_songs()) == ["The Mill Wheel"] * 3


def test_no_title_leads_into_the_folder_of_the_songs_that_were_taken_off(shelf: Shelf) -> None:
    bring(shelf, WALTZ.replace("The Mill Wheel", "taken off"))
    assert [song.folder for song in shelf.list_songs()] == ["taken-off"]
    assert shelf.count_taken_off() == 0


def test_a_plan_that_a_hand_has_written_keeps_its_comments(shelf: Shelf) -> None:
    song_id = bring(shelf, WALTZ)
    mine = '# for Anna\nlevel = "early"   # she counts on it\nkey = "G"\n'
    (shelf.folder / "the-mill-wheel" / "plan.toml").write_text(mine)
    shelf.change_plan(song_id, {"key": "D"})

    song = shelf.open_song(song_id)
    assert song.plan_text == mine.replace('"G"', '"D"')
    shelf.settle_plan(song_id, song.plan_text, Plan(level="early", key="D", capo=2))
    assert shelf.open_song(song_id).plan_text == mine.replace('"G"', '"D"') + "capo = 2\n"
    shelf.undo(song_id)
    assert shelf.open_song(song_id).plan_text == mine


def test_a_file_in_the_shelf_s_place_is_told_with_what_to_do(tmp_path: Path) -> None:
    file = tmp_path / "shelf"
    file.write_text("a letter")

    with pytest.raises(UsageError, match=r"shelf: the shelf cannot be opened \(file exists\)\. Name another"):
        Shelf(file, LEVELS)
