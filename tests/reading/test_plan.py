from dataclasses import fields, replace
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from apoyando.model.errors import UsageError
from apoyando.model.instrument import TUNINGS
from apoyando.model.pitch import Key, Mode, Pitch, PitchName, Step
from apoyando.model.plan import (
    ENDINGS,
    INTRODUCTIONS,
    MOST_STEPS_EASIER,
    TEXTURES,
    TREATMENTS,
    ChordChange,
    Melody,
    NoteChange,
    Plan,
    Section,
)
from apoyando.model.prices import PRICE_NAMES
from apoyando.model.sheet import Marking, Paper, Sheet, Staves
from apoyando.reading.level_table import load_default_levels
from apoyando.reading.plan import change_plan, read_plan, write_plan
from strategies import locks

TONICS = [letter + sign for letter in "ABCDEFG" for sign in ("", "#", "b")]
PRICES = st.sampled_from(PRICE_NAMES)
BARS = st.integers(0, 40).map(str) | st.sampled_from(("12b", "X1", "007"))

chord_changes = st.builds(
    ChordChange,
    bar=st.integers(0, 300).map(str) | st.just("12b"),
    symbol=st.sampled_from(["C", "F#m7", "Bb/D", "G7(b9)", "N.C."]),
    beat=st.fractions(1, 12, max_denominator=6),
)
lengths = st.fractions(Fraction(1, 64), 12, max_denominator=64)
pitches = st.builds(Pitch, st.builds(PitchName, st.sampled_from(Step), st.integers(-2, 2)), st.integers(0, 8))
note_changes = st.builds(
    NoteChange,
    bar=BARS,
    beat=st.fractions(1, 12, max_denominator=6),
    pitch=pitches,
    length=st.none() | lengths,
) | st.builds(NoteChange, bar=BARS, is_rest=st.just(True))
plans = st.builds(
    Plan,
    key=st.sampled_from(["", *TONICS]),
    sounding=st.sampled_from(["", *TONICS]),
    level=st.sampled_from(list(load_default_levels())),
    texture=st.sampled_from(("", *TEXTURES)),
    sections=st.lists(
        st.builds(
            Section,
            bar=BARS,
            to_bar=st.just("") | BARS,
            texture=st.sampled_from(TEXTURES),
            easier=st.integers(0, MOST_STEPS_EASIER),
        )
        | st.builds(Section, bar=BARS, easier=st.integers(1, MOST_STEPS_EASIER)),
        max_size=4,
    ).map(tuple),
    tuning=st.sampled_from(["", *TUNINGS]),
    capo=st.integers(0, 9),
    melody=st.sampled_from(Melody),
    simplify=st.lists(st.sampled_from(TREATMENTS), unique=True).map(tuple),
    melody_octave=st.none() | st.integers(-5, 5),
    hand_size=st.floats(0.5, 1.5),
    same_fingering=st.booleans(),
    introduction=st.sampled_from(INTRODUCTIONS),
    ending=st.sampled_from(ENDINGS),
    spell_out=st.booleans(),
    minutes=st.none() | st.floats(0.1, 60.0),
    prices=st.dictionaries(PRICES, st.floats(0.0, 100.0), max_size=4),
    locks=st.lists(locks, max_size=4).map(tuple),
    page=st.builds(
        Sheet,
        paper=st.sampled_from(Paper),
        margin_mm=st.floats(5.0, 40.0),
        staff_mm=st.floats(4.0, 14.0),
        marking=st.sampled_from(Marking),
        staves=st.sampled_from(Staves),
        lyrics=st.booleans(),
        chord_symbols=st.booleans(),
        chord_diagrams=st.booleans(),
        dynamics=st.booleans(),
        hold_lines=st.booleans(),
    ),
    part=st.text(max_size=20).filter(str.isprintable),
    written_key=st.none() | st.builds(Key, st.integers(-7, 7), st.sampled_from(Mode)),
    pickup=st.none() | st.just(Fraction(0)) | lengths,
    notes=st.lists(note_changes, max_size=3).map(tuple),
    chords=st.lists(chord_changes, max_size=3).map(tuple),
)


@given(plans)
def test_a_written_plan_is_read_back_as_it_was(plan: Plan) -> None:
    assert read_plan(write_plan(plan), "song.plan.toml") == plan


@given(plans)
def test_the_order_of_the_prices_does_not_change_the_file(plan: Plan) -> None:
    turned = replace(plan, prices=dict(reversed(list(plan.prices.items()))))
    assert write_plan(turned) == write_plan(plan)


def test_an_empty_file_leaves_every_choice_to_the_program() -> None:
    assert read_plan("", "song.plan.toml") == Plan()


def test_entries_that_are_left_out_keep_their_defaults() -> None:
    assert read_plan('key = "Bb"', "song.plan.toml") == Plan(key="Bb")


def test_every_decision_of_the_plan_stands_in_the_file_under_a_comment() -> None:
    lines = write_plan(Plan(melody_octave=1, minutes=2.5)).splitlines()
    for field in fields(Plan):
        place = next(
            i
            for i, line in enumerate(lines)
            if line.removeprefix("# ").startswith((f"{field.name} =", f"[{field.name}]", f"[[{field.name}]]"))
        )
        beside = place + 1 if lines[place].startswith("[") else place - 1
        assert lines[beside].startswith("# "), field.name


def test_a_melody_octave_left_open_is_written_as_a_comment_to_be_opened() -> None:
    assert "# melody_octave = 0" in write_plan(Plan())


def test_a_time_left_open_is_written_as_a_comment_to_be_opened() -> None:
    assert "# minutes = 2.5" in write_plan(Plan())


def test_the_page_is_a_table_of_its_own() -> None:
    plan = read_plan('[page]\npaper = "letter"\nstaff = 9', "p")
    assert plan.page == Sheet(paper=Paper.LETTER, staff_mm=9.0)


def test_prices_are_a_table_of_factors() -> None:
    assert read_plan("[prices]\nhalf_barre_laid = 2\ncapo_per_fret = 0.5", "p").prices == {
        "half_barre_laid": 2.0,
        "capo_per_fret": 0.5,
    }


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ('key = "H"', r'^song: key = "H" cannot be meant: write a tonic as "G", "F#" or "Bb"'),
        ('key = "g"', r'key = "g"'),
        ("key = 3", "key = 3 "),
        ('sounding = "H"', r'^song: sounding = "H" cannot be meant: write a tonic'),
        ('level = "hard"', r'level = "hard" .* early, intermediate, advanced'),
        ('texture = "strum"', r'texture = "strum" .* running-eighths'),
        ('melody = "hard"', r'melody = "hard" .* by-level, as-written, simpler'),
        ('simplify = ["trills"]', r'simplify = "trills" .* ornaments, triplets, runs, dotted, syncopations'),
        ('simplify = "runs"', r"simplify = .* write a list of some"),
        ("sections = 3", r"sections = 3 .* under a line \[\[sections\]\]"),
        ('[[sections]]\ntexture = "bare"', "song, section 1: the entry bar is missing: write bar = 1"),
        (
            "[[sections]]\nbar = 9",
            r"song, section 1 \(bar 9\): nothing is asked for; write texture = .* or easier = 1",
        ),
        (
            '[[sections]]\nbar = 9\ntexture = "strum"',
            r'section 1 \(bar 9\): texture = "strum" .* running-eighths',
        ),
        ('[[sections]]\nbar = 9\ntexture = ""', r'section 1 \(bar 9\): texture = ""'),
        ('[[sections]]\nbar = 9.5\ntexture = "bare"', "section 1: bar = 9.5 .* as it is printed"),
        (
            '[[sections]]\nbar = 9\nuntil = 4\ntexture = "bare"',
            r"section 1 \(bar 9\): there is no entry until",
        ),
        ('tuning = "open-g"', r'tuning = "open-g" .* standard, drop-d'),
        ("capo = 10", "capo = 10 .* from 0 to 9"),
        ("capo = -1", "capo = -1 .* from 0 to 9"),
        ("capo = 2.0", "capo = 2.0 "),
        ("capo = true", "capo = true "),
        ("melody_octave = 6", "melody_octave = 6 .* from -5 to 5"),
        ("hand_size = 0.49", "hand_size = 0.49 .* from 0.5 to 1.5"),
        ("hand_size = nan", "hand_size = nan .* from 0.5 to 1.5"),
        ("hand_size = inf", "hand_size = inf"),
        ("[[sections]]\nbar = 9\neasier = 6", r"section 1 \(bar 9\): easier = 6 .* from 1 to 5"),
        ('[page]\npaper = "a3"', 'song, page: paper = "a3" .* a4, letter'),
        ("[page]\nstaff = 30", "song, page: staff = 30 .* from 4 to 14"),
        ("[page]\ncolour = true", "song, page: there is no entry colour .* paper, margin, staff"),
        ("page = 2", "page = 2 .* table"),
        ("[prices]\ncapo_per_fret = -1", "song, prices: capo_per_fret = -1 .* from 0 to 100"),
        ("[prices]\ncapo_per_fret = 101", "song, prices: capo_per_fret = 101 .* from 0 to 100"),
        (
            "[prices]\nhalf_barr_laid = 2",
            "song, prices: there is no price half_barr_laid; of like name: half_barre_laid",
        ),
        ('[prices]\ncapo_per_fret = "dear"', 'capo_per_fret = "dear"'),
        ("prices = 2", "prices = 2 .* table"),
        ('introduction = "vamp"', r'introduction = "vamp" .* "", "last-phrase", "dominant"'),
        ("introduction = 3", "introduction = 3 "),
        ('ending = "glissando"', r'ending = "glissando" .* "", "fermata", "rolled-chord", "harmonics"'),
        ('spell_out = "yes"', "spell_out = .* true or false"),
        ("minutes = 0", "minutes = 0 .* from 0.1 to 60"),
        ('minutes = "2:30"', "minutes = .* from 0.1 to 60"),
        ("same_fingering = 1", "same_fingering = 1 .* true or false"),
        ("part = 0", "part = 0 .* name or the number of a part"),
        ("part = true", "part = true .* name or the number of a part"),
        ('chords = "C"', r"chords .* write each chord under a line \[\[chords\]\]"),
        ("[[chords]]\nbar = 3", "chord 1: the entry chord is missing"),
        ('[[chords]]\nchord = "C"', "chord 1: the entry bar is missing"),
        (
            '[[chords]]\nbar = 3\nchord = "hello"',
            r'chord 1 \(bar 3\): chord = "hello" .* "Am7", "G/B" or "N.C."',
        ),
        ('[[chords]]\nbar = 3\nbeat = 0\nchord = "C"', r"chord 1 \(bar 3\): beat = 0 .* counted from 1"),
        ('[[chords]]\nbar = 3\nroot = "C"\nchord = "C"', r"chord 1 \(bar 3\): there is no entry root"),
        (
            'keys = "G"',
            r'there is no entry keys \(here "G"\)\. The entries are: key, sounding, part, level',
        ),
        ("key = ", "song: this is not a settings file"),
        ('key = "G"\nkey = "A"', "song: this is not a settings file"),
    ],
)
def test_a_bad_entry_is_named_with_its_value_and_what_would_be_right(text: str, message: str) -> None:
    with pytest.raises(UsageError, match=message):
        read_plan(text, "song")


def test_a_plan_that_could_not_be_read_back_is_never_written() -> None:
    with pytest.raises(UsageError, match="capo = 40"):
        write_plan(Plan(capo=40))


@given(st.text(max_size=200))
def test_any_text_gives_a_plan_or_a_message(text: str) -> None:
    try:
        plan = read_plan(text, "song")
    except UsageError as error:
        message = str(error)
    else:
        message = f"song {plan.level}"
    assert message.startswith("song")


def test_some_entries_of_a_plan_are_changed_and_the_others_stay() -> None:
    plan = Plan(key="G", capo=2, melody_octave=1)

    assert change_plan(plan, {"capo": 3, "melody_octave": None}, "choice") == Plan(key="G", capo=3)
    assert change_plan(plan, {}, "choice") == plan


def test_a_change_is_checked_as_the_file_is() -> None:
    with pytest.raises(UsageError, match="choice: capo = 99 cannot be meant"):
        change_plan(Plan(), {"capo": 99}, "choice")
    with pytest.raises(UsageError, match='choice: level = "mine" cannot be meant'):
        change_plan(Plan(), {"level": "mine"}, "choice")
    assert change_plan(Plan(), {"level": "mine"}, "choice", ("mine",)).level == "mine"
    with pytest.raises(UsageError, match="there is no entry kee"):
        change_plan(Plan(), {"kee": "G"}, "choice")
