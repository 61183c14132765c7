"""The whole way, from a song's bytes to the bytes of its results."""

import hashlib
import os
import subprocess
import sys
from dataclasses import replace
from fractions import Fraction
from math import inf

import pytest

from apoyando.arranging import arrange_song
from apoyando.model.arrangement import Arrangement, Role
from apoyando.model.errors import MissingHarmonyError, UnreadableSongError, UsageError
from apoyando.model.locks import NoteLock
from apoyando.model.plan import Plan
from apoyando.model.song import Song
from apoyando.pipeline import (
    OUTPUT_SUFFIXES,
    Piece,
    RefutedArrangementError,
    arrange_piece,
    compare_song_keys,
    make_piece,
    name_keys,
    settle_setup,
    songs,
    verdicts,
    weigh_positions_of_bar,
    weigh_ways_of_note,
)
from apoyando.proofing import SONG_RULES, Certificate, Proof, Rule, prove_arrangement
from apoyando.reading import load_default_levels, read_plan

LEVELS = load_default_levels()
STILE = b"""X:1
T:Over the Stile
M:4/4
L:1/8
K:Am
"Am"A2 B2 c3 B | "E7"B4 ^G4 | "F"A2 G2 F2 E2 | "Am"A8 |]
"""


def make(plan: Plan, song: bytes = STILE) -> Piece:
    return make_piece(song, "stile.abc", plan, LEVELS)


@pytest.fixture(scope="module")
def free() -> Piece:
    """The stile where every choice was left to the program."""
    return make(Plan())


def test_a_piece_has_every_result_and_its_proof(free: Piece) -> None:
    assert set(free.outputs) == set(OUTPUT_SUFFIXES)
    assert all(free.outputs.values())
    assert free.certificate.is_proven
    assert [answer.rule for answer in free.certificate.answers] == list(SONG_RULES)


def test_the_plan_of_a_piece_names_the_key_and_octave_that_were_chosen(free: Piece) -> None:
    assert free.plan.key == str(free.arrangement.key.tonic)
    assert free.plan.melody_octave is not None
    assert read_plan(free.outputs[".plan.toml"].decode(), "stile.plan.toml") == free.plan


def test_the_plan_of_a_piece_makes_the_same_piece_again(free: Piece) -> None:
    again = make(free.plan)

    assert again.outputs == free.outputs
    assert again.plan == free.plan


@pytest.mark.parametrize("key", ["A", "F#", "Bb"])
@pytest.mark.parametrize("octave", [-1, 0])
def test_decisions_of_the_player_come_back_as_they_were(key: str, octave: int) -> None:
    decided = Plan(
        key=key,
        texture="running-eighths",
        melody_octave=octave,
        capo=2,
        hand_size=1.1,
        prices={"half_barre_laid": 2.0},
    )

    assert make(decided).plan == decided


def test_all_results_tell_of_the_same_arrangement(free: Piece) -> None:
    assert free.report["key"] == str(free.arrangement.key)
    assert free.song.title.encode() in free.outputs[".musicxml"]
    assert free.song.title.encode() in free.outputs[".report.json"]


def test_the_same_bytes_come_out_whatever_the_order_of_sets(free: Piece) -> None:
    """Python orders sets of strings by a seed that differs from run to run (Python docs, PYTHONHASHSEED)."""
    program = (
        "import sys, hashlib; from apoyando.pipeline import make_piece; from apoyando.model.plan import Plan;"
        "from apoyando.reading import load_default_levels;"
        f"piece = make_piece({STILE!r}, 'stile.abc', Plan(key={free.plan.key!r}), load_default_levels());"
        "print(*(hashlib.sha256(piece.outputs[name]).hexdigest() for name in sorted(piece.outputs)))"
    )
    expected = [hashlib.sha256(free.outputs[name]).hexdigest() for name in sorted(free.outputs)]

    for seed in ("1", "2"):
        environment = {**os.environ, "PYTHONHASHSEED": seed}
        told = subprocess.run(
            [sys.executable, "-c", program], env=environment, capture_output=True, text=True, check=True
        )
        assert told.stdout.split() == expected


@pytest.mark.parametrize("note", ["C,,,,,", "g''''"])
def test_a_tune_from_either_end_of_what_there_is_comes_with_a_plan_that_can_be_read(note: str) -> None:
    """MIDI 1.0 has the notes 0 to 127."""
    song = STILE.partition(b'"Am"')[0] + f'"Am"{note}8|"E"{note}8|]'.encode()
    plan = make(Plan(key="A"), song).outputs[".plan.toml"].decode()
    again = make(read_plan(plan, "stile.plan.toml"), song)

    assert again.outputs[".plan.toml"].decode() == plan


def test_a_refuted_arrangement_never_becomes_a_page(monkeypatch: pytest.MonkeyPatch) -> None:
    """Here the arranger strikes a melody note at a fret that gives another pitch."""

    def arrange_wrongly(*given: object) -> Arrangement:
        arrangement = arrange_song(*given)  # type: ignore[arg-type] # passed on as they came
        first = arrangement.voice(Role.MELODY)[0]
        higher = replace(first, pitch=replace(first.pitch, octave=first.pitch.octave + 1))
        return replace(arrangement, notes=tuple(higher if n is first else n for n in arrangement.notes))

    monkeypatch.setattr(songs, "arrange_song", arrange_wrongly)
    monkeypatch.setattr(songs, "write_outputs", lambda *_: pytest.fail("written all the same"))

    with pytest.raises(
        RefutedArrangementError, match=r"^pitches: Bar 1, beat 1: .* \(and \d+ more\)$"
    ) as caught:
        make(Plan(key="A"))
    assert not caught.value.certificate.is_proven


def test_the_proof_is_of_the_hand_that_the_plan_names(monkeypatch: pytest.MonkeyPatch) -> None:
    sizes: list[float] = []

    def note_size(*given: object) -> Certificate:
        sizes.append(given[3])  # type: ignore[arg-type] # the hand's size
        return prove_arrangement(*given)  # type: ignore[arg-type] # passed on as they came

    monkeypatch.setattr(verdicts, "prove_arrangement", note_size)
    make(Plan(key="A", hand_size=0.9))

    assert sizes == [0.9]


def test_the_widest_stretch_is_within_the_level(free: Piece) -> None:
    reach = next(
        answer
        for answer in free.certificate.answers
        if isinstance(answer, Proof) and answer.rule is Rule.REACH
    )
    widest_allowed = max(limit.outermost_mm for limit in LEVELS["intermediate"].spans.values())

    assert reach.widest is None or reach.widest.span_mm <= widest_allowed


def test_a_level_that_is_not_in_the_table_is_wrong_use() -> None:
    with pytest.raises(
        UsageError, match=r"no level virtuoso\. The levels are: early, intermediate, advanced"
    ):
        make(Plan(level="virtuoso"))


def test_a_song_without_chords_says_so() -> None:
    bare = b"X:1\nT:Bare\nM:4/4\nL:1/4\nK:C\nCDEF|\n"

    with pytest.raises(MissingHarmonyError, match=r"^stile\.abc: "):
        make(Plan(), bare)


def test_what_is_no_song_cannot_be_read() -> None:
    with pytest.raises(UnreadableSongError, match=r"^stile\.abc: "):
        make(Plan(), b"\x89PNG\r\n")


def test_the_cheapest_of_the_twelve_keys_is_the_one_that_is_arranged(free: Piece) -> None:
    keys = compare_song_keys(STILE, "stile.abc", Plan(), LEVELS)

    compared = [each.comparison for each in keys]
    assert len({each.key.tonic.pitch_class for each in compared}) == 12
    assert min(compared, key=lambda each: each.price).key == free.arrangement.key


def test_a_key_is_compared_by_the_hard_bars_that_its_report_would_name() -> None:
    """At a level that has no bound, so that no bar is made easier."""
    plan = Plan(hand_size=0.8)
    levels = {plan.level: replace(LEVELS[plan.level], most_points=inf)}
    keys = compare_song_keys(STILE, "stile.abc", plan, levels)
    hardest = max(keys, key=lambda each: max((bar.difficulty for bar in each.hard_bars), default=0.0))
    chosen = replace(plan, key=str(hardest.comparison.key.tonic))
    report = make_piece(STILE, "stile.abc", chosen, levels).report

    assert hardest.hard_bars
    assert [bar["sentence"] for bar in report["hard_bars"]] == [bar.sentence for bar in hardest.hard_bars]  # type: ignore[attr-defined]


def test_the_ways_of_a_note_and_of_a_bar_are_weighed_for_the_piece_as_it_is_planned(free: Piece) -> None:
    assert isinstance(free.song, Song)
    note = NoteLock(bar="1", beat=Fraction(1))
    ways = weigh_ways_of_note(free.song, free.plan, LEVELS, note)
    first = free.arrangement.voice(Role.MELODY)[0]
    assert {str(way.pitch) for way in ways} == {str(first.pitch)}
    for cheapest in (ways[0], weigh_positions_of_bar(free.song, free.plan, LEVELS, "1")[0]):
        locked = make(replace(free.plan, locks=(cheapest.lock,), same_fingering=False)).arrangement
        alone = make(replace(free.plan, same_fingering=False)).arrangement
        assert locked.search.price - alone.search.price == cheapest.price


def test_a_piece_is_arranged_in_stages_that_are_told_and_without_files(free: Piece) -> None:
    told: list[str | Piece] = []
    piece = arrange_piece(STILE, "stile.abc", Plan(), LEVELS, tell=told.append)

    assert piece == replace(free, outputs={})
    assert arrange_piece(STILE, "stile.abc", Plan(), LEVELS) == piece
    assert [each for each in told if isinstance(each, str)] == [
        "reading the song",
        "choosing the key",
        "proofing",
    ]


def test_what_was_chosen_of_the_setup_is_settled_and_the_rest_stays_open(free: Piece) -> None:
    wish = Plan(level="intermediate", ending="fermata")

    assert settle_setup(wish, free) == replace(wish, key=free.plan.key)


def test_a_sketch_is_proven_and_the_same_page_where_no_bar_is_too_hard(free: Piece) -> None:
    """For an advanced player no bar of the stile is too hard, and there is no harder level."""
    plan = Plan(level="advanced")
    told: list[str | Piece] = []
    piece = arrange_piece(STILE, "stile.abc", plan, LEVELS, tell=told.append)

    _, _, sketch, _ = told
    assert isinstance(sketch, Piece)
    assert sketch.certificate.is_proven
    assert sketch.plan == piece.plan
    assert sketch.arrangement.notes == piece.arrangement.notes


def test_the_keys_that_can_be_had_are_twelve(free: Piece) -> None:
    assert isinstance(free.song, Song)
    assert len(set(name_keys(free.song))) == 12
    assert "A" in name_keys(free.song)
