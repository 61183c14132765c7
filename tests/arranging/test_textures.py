"""The textures: what is struck when, in how many notes, and which texture where none is named.

The patterns are those that guitarists play (common practice, no source). A bar is written as
its strokes, ``"0 mb | 1 ii"``: the tune, the bass and two inner notes, by quarters from the
beginning of the bar.
"""

from collections.abc import Iterable
from dataclasses import replace
from fractions import Fraction
from itertools import combinations, groupby, pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from apoyando.arranging import arrange_in_key, arrange_song, pose_in_key
from apoyando.arranging.texture import find_pace, lay_textures, suggest_texture
from apoyando.fingering import find_best_way
from apoyando.model.arrangement import Arrangement, Note, RelaxationStep, Role
from apoyando.model.errors import UsageError
from apoyando.model.hand import Pluck
from apoyando.model.plan import TEXTURES, Plan, Section
from apoyando.model.song import Jump, Song
from apoyando.model.time import Span
from apoyando.proofing import find_rings, prove_arrangement
from apoyando.reading.level_table import load_default_levels
from builders import change_bar, make_meter, make_song
from excerpts import WORLDS, narrow_choice
from references.plain_search import plain_best_price
from strategies import songs

LEVELS = load_default_levels()


def arrange(song: Song, texture: str = "", level: str = "intermediate", **plan: object) -> Arrangement:
    decided = Plan(texture=texture, level=level, **plan)  # type: ignore[arg-type]
    return arrange_in_key(song, decided, LEVELS[level], song.key)


def strokes(arrangement: Arrangement, number: str = "1") -> str:
    bar = next(bar for bar in arrangement.bars if bar.number == number)
    inside = sorted((n for n in arrangement.notes if bar.span.contains(n.onset)), key=lambda n: n.onset)
    return " | ".join(
        f"{onset - bar.onset} {_letters(group)}" for onset, group in groupby(inside, key=lambda n: n.onset)
    )


def _letters(notes: Iterable[Note]) -> str:
    listed = list(notes)
    return "".join(role[0] for role in Role for note in listed if note.role is role)


def at_tempo(song: Song, tempo: int) -> Song:
    return replace(song, tempo_quarters_per_minute=Fraction(tempo))


HELD = make_song("C5:4 E5:4 C5:4", "C:4 C:4 C:4", count=3)
"""The tune holds still."""
MOVING = make_song(" ".join(["C5:1/2", "E5:1/2"] * 12), "C:4 C:4 C:4", count=3)
"""The tune runs in eighths."""
WALKING = make_song("C5:1 E5:1 G5:1 E5:1 C5:1 E5:1 G5:1 E5:1 C5:4", "C:4 C:4 C:4", count=3)
WALTZ = make_song("C5:3 E5:1 D5:1/2 C5:1/2 E5:1 C5:3", "C:3 C:3 C:3", "3/4", count=3)
MARCH = make_song("C5:2 E5:2 C5:2", "C:2 C:2 C:2", "2/4", count=3)
JIG = make_song("C5:3 E5:3 C5:3", "C:3 C:3 C:3", "6/8", count=3)


# What is struck when.


@pytest.mark.parametrize(
    ("texture", "song", "level", "bar"),
    [
        ("running-eighths", HELD, "intermediate", "0 mb | 1/2 i | 1 i | 3/2 i | 2 b | 5/2 i | 3 i | 7/2 i"),
        (
            "running-eighths",
            WALKING,
            "intermediate",
            "0 mb | 1/2 i | 1 m | 3/2 i | 2 mb | 5/2 i | 3 m | 7/2 i",
        ),
        ("arpeggio", HELD, "intermediate", "0 mb | 1/2 i | 1 i | 3/2 i | 2 b | 5/2 i | 3 i | 7/2 i"),
        ("arpeggio", WALKING, "intermediate", "0 mb | 1/2 i | 1 m | 3/2 i | 2 mb | 5/2 i | 3 m | 7/2 i"),
        ("arpeggio", HELD, "early", "0 mb | 1 i | 2 i | 3 i"),
        ("arpeggio", JIG, "intermediate", "0 mb | 1/2 i | 1 i | 3/2 i | 2 i | 5/2 i"),
        ("block-chords", HELD, "intermediate", "0 mbi | 1 bii | 2 bii | 3 bii"),
        ("block-chords", HELD, "advanced", "0 mbii | 1 bii | 2 bii | 3 bii"),
        ("block-chords", HELD, "early", "0 mb | 1 bi | 2 bi | 3 bi"),
        ("block-chords", WALKING, "intermediate", "0 mbi | 1 m | 2 mbi | 3 m"),
        ("bass-and-chord", WALTZ, "intermediate", "0 mb | 1 ii | 2 ii"),
        ("bass-and-chord", WALTZ, "early", "0 mb | 1 ii | 2 ii"),
        ("bass-and-chord", HELD, "intermediate", "0 mb | 1 ii | 2 b | 3 ii"),
        ("bass-and-chord", MARCH, "intermediate", "0 mb | 1/2 ii | 1 b | 3/2 ii"),
        ("bass-and-chord", MARCH, "early", "0 mb | 1 ii"),
        ("bass-and-chord", JIG, "intermediate", "0 mb | 1/2 ii | 1 ii | 3/2 b | 2 ii | 5/2 ii"),
        ("bass-and-chord", JIG, "early", "0 mb | 3/2 ii"),
        ("alternating-bass", HELD, "intermediate", "0 mb | 1/2 i | 1 b | 3/2 i | 2 b | 5/2 i | 3 b | 7/2 i"),
        ("alternating-bass", HELD, "early", "0 mb | 1 b | 2 b | 3 b"),
        ("alternating-bass", JIG, "intermediate", "0 mb | 1/2 i | 1 i | 3/2 b | 2 i | 5/2 i"),
        ("bare", HELD, "intermediate", "0 mb | 2 b"),
        ("bare", WALKING, "intermediate", "0 mb | 1 m | 2 mb | 3 m"),
        ("sustained", HELD, "intermediate", "0 mbi | 2 bi"),
        ("sustained", HELD, "early", "0 mb | 1 i | 2 bi"),
    ],
)
def test_each_texture_strikes_its_pattern(texture: str, song: Song, level: str, bar: str) -> None:
    assert strokes(arrange(song, texture, level)) == bar


@pytest.mark.parametrize("texture", ["running-eighths", "arpeggio"])
def test_where_the_tune_runs_in_the_value_of_the_texture_nothing_is_added_for_motion(texture: str) -> None:
    struck = {note.onset for note in arrange(MOVING, texture).voice(Role.INNER)}
    assert struck <= {note.onset for note in arrange(MOVING, texture).voice(Role.BASS)}


def test_a_chord_is_lighter_where_the_tune_moves_over_it_and_fuller_where_it_holds_still() -> None:
    """In the second bar the tune moves on the second beat and holds still on the third."""
    assert strokes(arrange(WALTZ, "bass-and-chord", "advanced"), "2") == "0 mb | 1 mi | 3/2 m | 2 mii"


def test_chords_are_struck_in_quarters_where_eighths_are_too_quick_for_the_level() -> None:
    """Intermediate hands have eighths in the accompaniment up to 100 quarters a minute."""
    assert strokes(arrange(at_tempo(MARCH, 100), "bass-and-chord")) == "0 mb | 1/2 ii | 1 b | 3/2 ii"
    assert strokes(arrange(at_tempo(MARCH, 101), "bass-and-chord")) == "0 mb | 1 ii"


def test_a_bass_that_enters_with_its_harmony_is_struck_wherever_in_the_pattern_that_is() -> None:
    song = make_song("C5:4 C5:4", "C:1 F:3 C:4")
    assert strokes(arrange(song, "bass-and-chord")) == "0 mb | 1 b | 2 b | 3 ii"


@pytest.mark.parametrize("texture", TEXTURES)
def test_nothing_runs_against_triplets(texture: str) -> None:
    song = make_song("C5:1/3 D5:1/3 E5:1/3 G5:3 C5:4", "C:4 C:4")
    moments = {note.onset for note in arrange(song, texture).voice(Role.BASS, Role.INNER)}
    assert Fraction(1, 2) not in moments


# How it is played.


def test_an_arpeggio_rises_from_string_to_string_and_every_note_of_it_can_ring_until_the_next_bass() -> None:
    arrangement = arrange(HELD, "arpeggio")
    first = [note for note in arrangement.notes if note.onset < 2]
    assert [note.pluck for note in first if note.role is not Role.MELODY][:3] == [Pluck.P, Pluck.I, Pluck.M]
    bass, one, other, again = [note for note in first if note.role is not Role.MELODY]
    assert bass.pitch.midi < one.pitch.midi < other.pitch.midi
    assert bass.place.string > one.place.string > other.place.string
    assert again.place == one.place
    rings = {id(ring.note): ring.until for ring in find_rings(arrangement, LEVELS["intermediate"], 1.0)}
    assert rings[id(other)] >= 2
    assert rings[id(one)] >= again.onset


def test_an_arpeggio_is_written_as_short_as_it_is_struck() -> None:
    assert {note.duration for note in arrange(HELD, "arpeggio").voice(Role.INNER) if note.onset < 8} == {
        Fraction(1, 2)
    }


def test_a_finger_that_lies_flat_for_what_only_rings_on_is_no_barre_on_the_page() -> None:
    """A tone of the arpeggio is written as short as it is struck, and the tune alone is left under the finger."""
    song = make_song("G4:1 G4:1/2 G4:3/4 r:1/4 F#4:1/2", "F#.dominant:3", "6/8", count=1)
    arrangement = arrange(at_tempo(song, 96), "arpeggio", "advanced", tuning="drop-d", melody_octave=0)
    assert all(barre.lowest_string > barre.highest_string for barre in arrangement.barres)
    assert any(note.in_barre for note in arrangement.notes) == bool(arrangement.barres)


def test_where_the_tune_is_silent_the_arpeggio_takes_its_string_too_p_i_m_a() -> None:
    song = make_song("C5:4 r:4 C5:4", "C:4 C:4 C:4", count=3)
    second = [note for note in arrange(song, "arpeggio").notes if 4 <= note.onset < 6]
    assert [note.pluck for note in second] == [Pluck.P, Pluck.I, Pluck.M, Pluck.A]
    assert all(low.pitch.midi < high.pitch.midi for low, high in pairwise(second))


def test_an_alternating_bass_goes_to_and_fro_between_root_and_fifth() -> None:
    basses = [note.pitch.midi % 12 for note in arrange(HELD, "alternating-bass").voice(Role.BASS)]
    assert basses[:4] == [0, 7, 0, 7]


def test_the_inner_notes_of_a_chord_differ_in_their_tones() -> None:
    chord = [note.pitch.midi % 12 for note in arrange(WALTZ, "bass-and-chord").voice(Role.INNER)][:2]
    assert len(set(chord)) == 2


def test_a_chord_is_written_as_long_as_its_shortest_note_and_what_is_lost_is_told() -> None:
    """Every chord that is held with its bass: one onset, one length, or a hold that is given up."""
    song = make_song("C5:1/2 A5:1/2 F5:1/2 D5:1/2 C6:1 F4:1 C5:4 C5:4", "C:4 F:4 C:4", count=3)
    arrangement = arrange(song, "block-chords", "advanced")
    told = {(hold.onset, hold.pitch) for hold in arrangement.given_up_holds}
    for onset, chord in groupby(arrangement.voice(Role.INNER), key=lambda note: note.onset):
        listed = list(chord)
        assert len({note.offset for note in listed}) == 1
        bass = [note for note in arrangement.voice(Role.BASS) if note.onset == onset]
        assert all(
            note.offset == each.offset or (onset, note.pitch) in told or (onset, each.pitch) in told
            for note in listed
            for each in bass
        )


# Where the tune comes to rest.


@pytest.mark.parametrize(
    ("level", "texture", "bar"),
    [
        ("early", "bare", "0 mb | 1 i"),
        ("intermediate", "running-eighths", "0 mbi"),
        ("intermediate", "bass-and-chord", "0 mbi"),
        ("advanced", "arpeggio", "0 mbii"),
    ],
)
def test_the_last_bar_closes_with_a_chord_as_full_as_the_level_strikes(
    level: str, texture: str, bar: str
) -> None:
    arrangement = arrange(HELD, texture, level)
    assert strokes(arrangement, "3") == bar
    assert {note.offset for note in arrangement.notes if note.onset >= 8} == {Fraction(12)}


def test_before_the_last_note_the_texture_goes_on() -> None:
    song = make_song("C5:4 E5:2 C5:2", "C:4 C:4")
    assert strokes(arrange(song, "running-eighths"), "2") == "0 mb | 1/2 i | 1 i | 3/2 i | 2 mbi"


def test_a_bass_that_has_only_just_been_struck_carries_the_last_chord() -> None:
    song = make_song("C5:4 D5:1/2 C5:7/2", "C:4 C:4")
    assert strokes(arrange(song, "running-eighths"), "2") == "0 mbi | 1/2 m"


def test_a_last_note_shorter_than_a_beat_has_no_chord_of_its_own() -> None:
    assert strokes(arrange(MOVING, "bare"), "3") == strokes(arrange(MOVING, "bare"), "2")


@pytest.mark.parametrize(
    ("end", "bar"),
    [("C5:1", "0 mb | 1/2 i | 1 i | 3/2 mbi"), ("D5:1/2 C5:1/2", "0 mb | 1/2 i | 1 i | 3/2 m | 2 m")],
)
def test_in_six_eighths_a_last_quarter_closes_and_a_last_eighth_does_not(end: str, bar: str) -> None:
    """A song that begins with an eighth before the bar ends an eighth before the barline (common practice)."""
    song = make_song(f"C5:3 E5:3/2 {end}", "C:11/2", meter="6/8", count=2)
    short = replace(song.bars[1], span=Span(Fraction(3), Fraction(11, 2)))
    song = replace(song, bars=(song.bars[0], short))
    assert strokes(arrange(song, "running-eighths"), "2") == bar


def test_da_capo_al_fine_closes_where_the_piece_ends_and_not_where_the_page_does() -> None:
    bars = change_bar(change_bar(HELD.bars, 0, jumps=(Jump.FINE,)), 2, jumps=(Jump.DA_CAPO,))
    arrangement = arrange(replace(HELD, bars=bars), "running-eighths")
    assert strokes(arrangement, "1") == "0 mbi"
    assert strokes(arrangement, "3") == "0 mb | 1/2 i | 1 i | 3/2 i | 2 b | 5/2 i | 3 i | 7/2 i"


def test_under_a_fermata_the_texture_waits_with_a_chord_and_goes_on_after_it() -> None:
    first, *rest = make_song("C5:2 E5:2 C5:4", "C:4 C:4").melody
    song = replace(make_song("C5:2 E5:2 C5:4", "C:4 C:4"), melody=(replace(first, has_fermata=True), *rest))
    assert strokes(arrange(song, "running-eighths")) == "0 mbi | 2 mb | 5/2 i | 3 i | 7/2 i"


# Which texture.


@pytest.mark.parametrize(
    ("meter", "tempo", "level", "texture"),
    [
        ("4/4", 96, "intermediate", "running-eighths"),
        ("4/4", 96, "advanced", "running-eighths"),
        ("4/4", 96, "early", "bare"),
        ("4/4", 168, "intermediate", "running-eighths"),
        ("4/4", 169, "intermediate", "bare"),
        ("6/8", 96, "intermediate", "running-eighths"),
        ("3/4", 119, "intermediate", "running-eighths"),
        ("3/4", 120, "intermediate", "bass-and-chord"),
        ("3/4", 200, "advanced", "bass-and-chord"),
        ("3/4", 180, "early", "bare"),
        ("3/8", 59, "intermediate", "running-eighths"),
        ("3/8", 60, "intermediate", "bass-and-chord"),
        ("2/4", 83, "intermediate", "running-eighths"),
        ("2/4", 84, "intermediate", "bass-and-chord"),
        ("C|", 96, "intermediate", "bass-and-chord"),
    ],
)
def test_meter_tempo_and_level_choose_where_nothing_is_named(
    meter: str, tempo: int, level: str, texture: str
) -> None:
    assert suggest_texture(make_meter(meter), Fraction(tempo), LEVELS[level]) == texture


def test_the_texture_that_was_chosen_is_told() -> None:
    assert arrange(HELD).texture == "running-eighths"
    assert arrange(at_tempo(WALTZ, 160)).texture == "bass-and-chord"


def test_sections_have_textures_of_their_own_and_the_later_one_counts() -> None:
    sections = (Section("1", "block-chords", "2"), Section("2", "bare"))
    arrangement = arrange(HELD, "running-eighths", sections=sections)
    assert strokes(arrangement, "1") == "0 mbi | 1 bii | 2 bii | 3 bii"
    assert strokes(arrangement, "2") == "0 mb | 2 b"
    assert [(each.bar, each.to_bar, each.texture) for each in arrangement.sections] == [
        ("1", "1", "block-chords"),
        ("2", "2", "bare"),
        ("3", "3", "running-eighths"),
    ]


def test_a_section_holds_each_time_that_its_bars_are_printed() -> None:
    song = replace(HELD, bars=change_bar(HELD.bars, 2, repeat_times=2))
    arrangement = arrange(song, "running-eighths", sections=(Section("2", "bare"),), spell_out=True)
    assert strokes(arrangement, "2") == strokes(arrangement, "2.2") == "0 mb | 2 b"


@pytest.mark.parametrize(
    ("section", "message"),
    [
        (Section("9", "bare"), r'Section 1 of the plan, "bar 9: bare", .* there is no bar 9; .* 1 to 3'),
        (Section("2", "bare", "9"), r'"bars 2 to 9: bare", .* there is no bar 9'),
        (Section("3", "bare", "2"), r'"bars 3 to 2: bare", cannot be meant: it ends before it begins'),
        (Section("2", "tremolo"), "texture 'tremolo' is not known; there are: running-eighths, arpeggio"),
    ],
)
def test_a_section_that_cannot_be_meant_is_refused_with_its_bar(section: Section, message: str) -> None:
    with pytest.raises(UsageError, match=message):
        arrange_song(HELD, Plan(key="C", sections=(section,)), LEVELS["intermediate"])


# What holds for every song.


@settings(max_examples=60, deadline=None)
@given(songs(most_bars=3), st.sampled_from(TEXTURES), st.sampled_from(tuple(LEVELS)))
def test_every_texture_of_every_song_is_certified_and_keeps_to_the_level(
    song: Song, texture: str, level: str
) -> None:
    arrangement = arrange(song, texture, level)
    certificate = prove_arrangement(arrangement, song, LEVELS[level], 1.0)
    assert [witness.sentence for witness in certificate.witnesses] == []
    together = [list(group) for _, group in groupby(arrangement.notes, key=lambda note: note.onset)]
    if texture != "running-eighths":
        assert max(map(len, together)) <= LEVELS[level].struck_together


@settings(max_examples=40, deadline=None)
@given(songs(most_bars=3), st.sampled_from(TEXTURES))
def test_inner_notes_that_sound_together_are_different_tones(song: Song, texture: str) -> None:
    inner = arrange(song, texture, "advanced").voice(Role.INNER)
    for one, other in combinations(inner, 2):
        if one.span.overlaps(other.span):
            assert one.pitch.midi % 12 != other.pitch.midi % 12


@settings(max_examples=40, deadline=None)
@given(songs(most_bars=3), st.sampled_from([name for name in TEXTURES if name != "bare"]))
def test_every_stroke_of_the_pattern_is_there_or_in_the_report(song: Song, texture: str) -> None:
    """By the shape of the texture alone: what a wide hand strikes that this one does not is told."""
    arrangement = arrange(song, texture)
    told = {
        r.onset
        for r in arrangement.relaxations
        if r.step in {RelaxationStep.INNER_DROPPED, RelaxationStep.BASS_DROPPED}
    }
    bass = {note.onset for note in arrangement.voice(Role.BASS)}
    for bar in arrangement.bars:
        for harmony in arrangement.harmony:
            enters = max(bar.onset, harmony.onset)
            if harmony.chord and not bar.is_pickup and enters < min(bar.offset, harmony.offset):
                is_new = _is_new_chord(arrangement, enters, bar.onset)
                assert not is_new or enters in bass | told


def _is_new_chord(arrangement: Arrangement, moment: Fraction, bar_onset: Fraction) -> bool:
    """A chord that is written again within a bar goes on."""
    before = [h.chord for h in arrangement.harmony if h.offset == moment and moment > bar_onset]
    now = next(h.chord for h in arrangement.harmony if h.span.contains(moment))
    return not (now and before and before[0] and before[0].is_same_as(now))


@pytest.mark.parametrize("texture", ["block-chords", "bass-and-chord", "arpeggio"])
def test_with_several_inner_lines_the_search_still_finds_the_least_price(texture: str) -> None:
    """Against the plain search, price for price, where each voice has three notes to choose from."""
    song = make_song("C5:1 E5:1 r:1/2 C5:3/2", "C:2 F:2", "2/4")
    world = WORLDS["advanced"]
    posed = pose_in_key(song, Plan(texture=texture, same_fingering=False), world.level, song.key)
    problem = narrow_choice(posed.problem)
    assert len(problem.slices[0].voices) > 3
    found = find_best_way(problem, tuning=world.tuning, level=world.level, prices=world.prices)
    assert found.price == plain_best_price(problem, world)


IN_C = make_song("C5:1 E5:1/2 G5:1/2 A5:2 G5:3 E5:1/2 D5:1/2 C5:4", "C:2 F:2 G7/B:4 C:4", count=3)
IN_D = make_song("D5:1 F#5:1/2 A5:1/2 B5:2 A5:3 F#5:1/2 E5:1/2 D5:4", "D:2 G:2 A7/C#:4 D:4", count=3)


@pytest.mark.parametrize("texture", TEXTURES)
def test_a_texture_is_laid_alike_in_every_key(texture: str) -> None:
    pace = find_pace(LEVELS["advanced"], Fraction(60))
    in_c, in_d = (lay_textures(song, (texture,) * 3, pace) for song in (IN_C, IN_D))
    assert any(window.inner for window in in_c) or texture == "bare"
    assert [window.transposed(2) for window in in_c] == [window.transposed(0) for window in in_d]


@pytest.mark.parametrize(
    ("meter", "texture", "basses"),
    [
        ("7/4", "bare", "0 4"),
        ("3+2+2/4", "bare", "0 3"),
        ("3+3+2/8", "bare", "0 3/2"),
        ("3+2+2/8", "bass-and-chord", "0 3/2 5/2"),
        ("2+3+2/8", "bass-and-chord", "0 1 5/2"),
        ("2+3/4", "block-chords", "0 2"),
        ("5/4", "block-chords", "0 3"),
    ],
)
def test_the_bass_falls_on_the_groups_that_the_source_gives(meter: str, texture: str, basses: str) -> None:
    """On the one nearest to the middle of the bar, and in bass and chord on all (common practice, no source)."""
    length = make_meter(meter).bar_length
    song = make_song(f"C5:{length} E5:{length} C5:{length}", f"C:{3 * length}", meter, count=3)
    arrangement = arrange(at_tempo(song, 60), texture, "advanced")
    struck = {note.onset for note in arrangement.voice(Role.BASS) if note.onset < length}
    assert set(map(Fraction, basses.split())) <= struck
    if texture == "bare":
        assert len(struck) == len(basses.split())
