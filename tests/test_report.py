"""What the report tells: exact places, everything given up, what is hard, what is proven."""

import json
from dataclasses import replace
from fractions import Fraction
from typing import Any

import pytest

from apoyando.model.arrangement import (
    Arrangement,
    GivenUpHold,
    MelodyChange,
    Relaxation,
    RelaxationStep,
    Role,
)
from apoyando.model.form_steps import Form, FormAct, FormStep
from apoyando.model.locks import NoBarreLock, PositionLock, Stretch
from apoyando.model.song import Barline, Jump, Lyric, MelodyNote, ReadingRemark, Song
from apoyando.proofing import find_over_level, find_rings, prove_arrangement
from apoyando.reading import load_default_levels
from apoyando.report import Verdict, describe_piece, describe_song, encode_report
from apoyando.report.certificate import describe_finding
from apoyando.teaching import find_voice_leading, measure_difficulty
from builders import (
    change_bar,
    make_arrangement,
    make_bars,
    make_harmony,
    make_line,
    make_note,
    make_pitch,
    small_arrangement,
)

LEVEL = load_default_levels()["intermediate"]


def melody_of(text: str) -> tuple[MelodyNote, ...]:
    return tuple(MelodyNote(span=note.span, pitch=note.pitch) for note in make_line(Role.MELODY, text))


def song_of(text: str, **more: Any) -> Song:
    return Song(
        **{"title": "A Small Tune", "bars": make_bars(2), "melody": melody_of(text), "harmony": (), **more}
    )


SONG = song_of("E4:1 G4:1 C5:2 B4:1 A4:1 G4:2", harmony=make_harmony("C:4 G:4"))


def report_of(arrangement: Arrangement, song: Song = SONG, seconds: float | None = None) -> Any:
    """The report after a round trip through its bytes."""
    verdict = Verdict(
        certificate=prove_arrangement(arrangement, song, LEVEL),
        over_level=find_over_level(arrangement, LEVEL),
        difficulties=measure_difficulty(arrangement, LEVEL),
    )
    return json.loads(encode_report(describe_piece(song, arrangement, verdict, seconds)))


def told_of(song: Song) -> Any:
    return json.loads(json.dumps(describe_song(song)))


# The piece.


def test_what_is_given_up_is_told_with_its_exact_place_and_reason() -> None:
    moment = Fraction(13, 3)
    report = report_of(
        replace(
            small_arrangement(),
            melody_changes=(MelodyChange("2", moment, "C6", "C5", "above the guitar"),),
            relaxations=(Relaxation(RelaxationStep.INNER_DROPPED, "2", moment, "no finger free"),),
            given_up_holds=(
                GivenUpHold(
                    "1", Fraction(2), make_pitch("C3"), Fraction(4), Fraction(3), "string 5 is needed"
                ),
            ),
        )
    )

    there = {"bar": "2", "beat": "4/3", "onset_quarters": "13/3"}
    assert report["melody"]["changes"] == [
        {**there, "until_quarters": None, "old": "C6", "new": "C5", "reason": "above the guitar"}
    ]
    assert report["relaxations"] == [{**there, "step": "inner note left out", "reason": "no finger free"}]
    assert report["holds"]["given_up"] == [
        {
            "bar": "1",
            "beat": "3",
            "onset_quarters": "2",
            "pitch": "C3",
            "wanted_until": "4",
            "held_until": "3",
            "reason": "string 5 is needed",
        }
    ]


def test_the_player_s_locks_are_told_in_words() -> None:
    verdict = Verdict(
        certificate=prove_arrangement(small_arrangement(), SONG, LEVEL), over_level=(), difficulties=()
    )
    locks = (PositionLock(Stretch(bar="2"), 5), NoBarreLock(Stretch()))
    report = describe_piece(SONG, small_arrangement(), verdict, locks=locks)

    assert report["locks"] == ["bar 2: in position V", "the whole piece: no barre"]
    assert report_of(small_arrangement())["locks"] == []


def test_the_form_tells_how_long_it_lasts_in_which_order_and_what_was_done_to_it() -> None:
    bars = change_bar(make_bars(2), 1, repeat_times=2)
    written = report_of(replace(small_arrangement(), bars=bars), replace(SONG, bars=bars))["form"]
    assert written == {
        "minutes": 0.17,
        "order": ["1", "2", "1", "2"],
        "steps": [],
        "sources": [],
        # On the way up to the C5 of bar 1 the hand has most time at the turn.
        "shifts_at_turns": [
            {
                "from": "2",
                "to": "1",
                "frets": 1,
                "sentence": "From bar 2 to bar 1 the hand shifts from position I to II within 1.2 seconds.",
            }
        ],
    }

    step = FormStep(act=FormAct.PLAYED_AGAIN, sentence="Bar 2 played once more at the end.")
    told = report_of(replace(small_arrangement(), form=Form((0, None), (step,))))["form"]
    assert told["steps"] == [
        {"step": "section played again", "sentence": "Bar 2 played once more at the end."}
    ]
    assert told["sources"] == [{"bar": "1", "of_song": "1"}, {"bar": "2", "of_song": None}]


def test_every_note_is_counted_as_held_or_given_up() -> None:
    whole = report_of(small_arrangement())["holds"]
    assert whole == {"kept": len(small_arrangement().notes), "given_up": [], "ring": []}

    hold = GivenUpHold("1", Fraction(2), make_pitch("C3"), Fraction(4), Fraction(3), "string 5 is needed")
    holds = report_of(replace(small_arrangement(), given_up_holds=(hold,)))["holds"]
    assert holds["kept"] + len(holds["given_up"]) == len(small_arrangement().notes)


def ringing() -> tuple[Arrangement, Verdict]:
    """The melody takes the finger of C, low E is let ring, and C goes on by step to B over G."""
    inner, bass, melody = (
        make_note("inner", 0, "1/2", "C4", string=2, finger=1),
        make_note("bass", 0, 1, "E2", string=6, finger=0),
        make_note("melody", 2, 1, "F#4", string=1, finger=1),
    )
    step = make_note("inner", 4, "1/2", "B3", string=2, finger=0)
    arrangement = make_arrangement((inner, bass, melody, step), make_bars(2), harmony=make_harmony("C:4 G:4"))
    arrangement = replace(
        arrangement,
        given_up_holds=(GivenUpHold("1", Fraction(0), bass.pitch, Fraction(2), Fraction(1), "no finger"),),
    )
    rings = find_rings(arrangement, LEVEL)
    return arrangement, Verdict(
        certificate=prove_arrangement(arrangement, SONG, LEVEL),
        over_level=(),
        difficulties=(),
        rings=rings,
        voice_leading=find_voice_leading(arrangement, rings),
    )


def test_each_note_of_the_accompaniment_tells_how_long_it_can_ring_and_what_would_free_it() -> None:
    arrangement, verdict = ringing()
    told = describe_piece(SONG, arrangement, verdict)["holds"]
    assert isinstance(told, dict)
    assert len(told["ring"]) == 3
    first = next(ring for ring in told["ring"] if ring["voice"] == "inner")

    assert first == {
        "bar": "1",
        "beat": "1",
        "onset_quarters": "0",
        "voice": "inner",
        "pitch": "C4",
        "string": 2,
        "written_until": "1/2",
        "wanted_until": "4",
        "rings_until": "2",
        "ended_by": "the finger goes elsewhere",
        "ending": "bar 1, beat 3: finger 1 is needed for F# (finger 1, string 1 fret 2)",
        "remedy": {
            "rings_until": "4",
            "sentence": "with F# (finger 1, string 1 fret 2) played by finger 2 it rings until bar 2, beat 1",
        },
    }


def test_a_given_up_hold_tells_how_long_it_can_ring_all_the_same() -> None:
    arrangement, verdict = ringing()
    told = json.loads(encode_report(describe_piece(SONG, arrangement, verdict)))["holds"]["given_up"][0]

    assert (told["held_until"], told["rings_until"], told["ended_by"]) == ("1", "4", "the harmony changes")
    assert told["remedy"] is None


def test_voice_leading_is_told_in_the_bars_in_which_there_is_any() -> None:
    arrangement, verdict = ringing()
    told = json.loads(encode_report(describe_piece(SONG, arrangement, verdict)))["voice_leading"]

    assert (told["changes"], told["changes_led"], told["broken_off"]) == (1, 1, 0)
    assert [bar["number"] for bar in told["bars"]] == ["1", "2"]
    assert told["bars"][0]["tones"] == [
        {
            "beat": "3",
            "onset_quarters": "2",
            "voice": "melody",
            "pitch": "F#4",
            "kind": "unresolved",
            "figure": "",
            "prepared_from": None,
            "resolution": None,
            "stays_until": "3",
            "stays": None,
        }
    ]
    assert told["bars"][1]["motions"] == [
        {
            "beat": "1",
            "onset_quarters": "4",
            "kind": "step",
            "from": "C4",
            "to": "B3",
            "to_voice": "inner",
            "sounds_on": False,
        }
    ]


def test_the_seconds_are_null_unless_they_are_given() -> None:
    assert report_of(small_arrangement())["search"]["seconds"] is None
    assert report_of(small_arrangement(), seconds=1.5)["search"]["seconds"] == 1.5


def test_a_refutation_is_told_with_its_witnesses() -> None:
    """The arrangement of the builders is not fingered for a real hand, and is refuted."""
    certificate = report_of(small_arrangement())["certificate"]
    holds = next(rule for rule in certificate["rules"] if rule["rule"] == "holds")

    assert certificate["proven"] is False
    assert holds["holds"] is False
    assert holds["witnesses"][0].startswith("Bar 1, beat 2: finger 3 is needed")


def test_a_proof_tells_how_much_was_looked_at() -> None:
    rules = report_of(small_arrangement())["certificate"]["rules"]
    pitches = next(rule for rule in rules if rule["rule"] == "pitches")

    assert pitches["holds"] is True
    assert pitches["notes_checked"] == len(small_arrangement().notes)


def test_each_bar_has_its_difficulty_and_the_hard_ones_are_among_them() -> None:
    report = report_of(small_arrangement())

    assert [bar["number"] for bar in report["bars"]] == ["1", "2"]
    assert all(bar["difficulty"] == pytest.approx(sum(bar["parts"].values())) for bar in report["bars"])
    hardest = max(report["bars"], key=lambda bar: bar["difficulty"])
    assert (report["hard_bars"][0]["number"], report["hard_bars"][0]["difficulty"]) == (
        hardest["number"],
        hardest["difficulty"],
    )


def test_remarks_of_the_reader_are_passed_on() -> None:
    song = replace(SONG, remarks=(ReadingRemark("2", "a grace note was left out."),))

    assert report_of(small_arrangement(), song)["remarks"] == [
        {"bar": "2", "text": "a grace note was left out."}
    ]


def test_a_title_in_any_script_is_written_as_it_is_and_half_a_character_is_escaped() -> None:
    written = encode_report({"title": "Čardáš 雪", "file": "caf\udce9"})

    assert "Čardáš 雪".encode() in written
    assert json.loads(written) == {"title": "Čardáš 雪", "file": "caf\udce9"}


# The song.


def test_a_note_held_over_the_barline_is_told_in_both_bars() -> None:
    first, second = told_of(song_of("E4:3 G4:2 r:1/2 A4:5/2"))["bars"]

    assert [
        (note["pitch"], note["beat"], note["quarters"], note["from_before"]) for note in first["melody"]
    ] == [
        ("E4", "1", "3", False),
        ("G4", "4", "1", False),
    ]
    assert [
        (note["pitch"], note["beat"], note["quarters"], note["from_before"]) for note in second["melody"]
    ] == [
        ("G4", "1", "1", True),
        (None, "2", "1/2", False),
        ("A4", "5/2", "5/2", False),
    ]


def test_a_bar_without_a_note_is_one_rest() -> None:
    assert [note["quarters"] for note in told_of(song_of("E4:4"))["bars"][1]["melody"]] == ["4"]
    assert told_of(song_of("E4:4"))["bars"][1]["melody"][0]["pitch"] is None


def test_beats_of_a_pickup_are_those_of_the_bar_that_it_ends() -> None:
    song = song_of("E4:1 G4:4 A4:4", bars=make_bars(2, pickup=1))

    assert told_of(song)["bars"][0]["melody"][0]["beat"] == "4"
    assert told_of(song)["bars"][0]["form"] == ["pickup"]


@pytest.mark.parametrize(
    ("meter", "onset", "beat"),
    [("6/8", "3/2", "2"), ("6/8", "1/2", "4/3"), ("2/2", "2", "2"), ("3/4", "2", "3")],
)
def test_beats_are_felt_pulses(meter: str, onset: str, beat: str) -> None:
    """Three eighths of a compound meter are one pulse (common practice, no source)."""
    song = song_of(f"r:{onset} E4:1", bars=make_bars(1, meter))

    assert told_of(song)["bars"][0]["melody"][1]["beat"] == beat


def test_a_chord_is_told_as_understood_and_as_written_and_again_where_it_goes_on() -> None:
    (given,) = make_harmony("F#.half-diminished:8")
    assert given.chord
    song = song_of("E4:8", harmony=(replace(given, chord=replace(given.chord, text="F#ø")),))
    first, second = (bar["chords"] for bar in told_of(song)["bars"])

    assert first == [
        {
            "beat": "1",
            "chord": "F♯m7(♭5)",
            "origin": "written",
            "written": "F#ø",
            "tones": ["F#", "A", "C", "E"],
            "from_before": False,
        }
    ]
    assert second == [{**first[0], "from_before": True}]


def test_where_no_chord_is_wanted_it_says_so() -> None:
    chords = told_of(song_of("E4:8", harmony=make_harmony("-:1 N.C.:7")))["bars"][0]["chords"]

    assert chords == [
        {"beat": "2", "chord": "N.C.", "origin": "written", "written": "", "tones": [], "from_before": False}
    ]


def test_words_are_told_where_they_are_sung_first() -> None:
    held = replace(melody_of("E4:8")[0], lyrics=(Lyric(1, "Low", "begin"), Lyric(2, "High")))
    first, second = told_of(song_of("", melody=(held,)))["bars"]

    assert (first["melody"][0]["lyrics"], second["melody"][0]["lyrics"]) == (["Low", "High"], [])


def test_the_form_is_told_in_the_order_in_which_a_player_meets_it() -> None:
    bars = change_bar(
        make_bars(1),
        0,
        starts_repeat=True,
        repeat_times=2,
        repeats_after_jump=True,
        endings=(1, 2),
        jumps=(Jump.FINE, Jump.SEGNO),
        barline=Barline.FINAL,
    )

    assert told_of(song_of("E4:4", bars=bars))["bars"][0]["form"] == [
        "segno",
        "repeat from here",
        "ending 1, 2",
        "played 2 times",
        "repeated after the jump too",
        "fine",
    ]


def test_a_jump_is_told_in_the_words_of_the_source() -> None:
    bars = change_bar(make_bars(1), 0, jumps=(Jump.DA_CAPO,), jump_words="D.C. al Fine")

    assert told_of(song_of("E4:4", bars=bars))["bars"][0]["form"] == ["D.C. al Fine"]


@pytest.mark.parametrize(("tempo", "line", "remedy"), [
    (100, "E4:1/4 G4:1/4 E4:1/4 G4:1/4 E4:3", "The tune alone has so short a value: make its rhythm simpler, or take a harder level."),
    (150, "E4:1/2 G4:1/2 E4:3", "The tune alone is as quick as that: take it slower, up to ♩ = 100, or take a harder level."),
])  # fmt: skip
def test_what_the_tune_alone_asks_beyond_the_level_is_told_with_a_remedy(
    tempo: int, line: str, remedy: str
) -> None:
    tune = make_arrangement(make_line("melody", line), tempo_quarters_per_minute=Fraction(tempo))
    (finding,) = find_over_level(tune, LEVEL, tune)
    told = describe_finding(tune, finding)
    assert (told["of_tune"], told["remedy"]) == (True, remedy)
    (unmarked,) = find_over_level(tune, LEVEL)
    told = describe_finding(tune, unmarked)
    assert (told["of_tune"], told["remedy"]) == (False, None)
