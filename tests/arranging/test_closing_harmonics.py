"""The last chord on natural harmonics: where it can be had, what it is, and what is told where it cannot.

Which pitches a touched string gives: see ``tests/model/test_harmonics.py``.
"""

from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from apoyando.arranging import arrange_in_key
from apoyando.model.arrangement import Arrangement, Note, RelaxationStep, Role
from apoyando.model.form_steps import FormAct
from apoyando.model.hand import Finger
from apoyando.model.instrument import STRINGS, Fret
from apoyando.model.locks import FreeFingerLock, NoteLock, Stretch
from apoyando.model.plan import Plan
from apoyando.model.song import Jump, Song
from apoyando.proofing import prove_arrangement
from apoyando.reading import load_default_levels
from builders import change_bar, make_song

LEVELS = load_default_levels()
IN_D = make_song("D4:1 F#4:1 A4:2 E4:1 F#4:1 D4:2", "D:4 A.dominant:2 D:2")
IN_C = make_song("E4:1 G4:1 C5:2 D5:1 B4:1 C5:2", "C:4 G:2 C:2")


def close(song: Song, level: str = "advanced", **decisions: object) -> Arrangement:
    """The song in its own key and octave, closed on harmonics if it can be, and proven."""
    plan = replace(Plan(level=level, ending="harmonics", melody_octave=0), **decisions)  # type: ignore[arg-type]
    arrangement = arrange_in_key(song, plan, LEVELS[level], song.key)
    certificate = prove_arrangement(arrangement, song, LEVELS[level])
    assert certificate.is_proven, [witness.sentence for witness in certificate.witnesses]
    return arrangement


def touched(arrangement: Arrangement) -> list[Note]:
    return [note for note in arrangement.notes if note.is_harmonic]


def places(arrangement: Arrangement) -> list[tuple[Role, str, int, int]]:
    """From the bass up."""
    found = sorted(touched(arrangement), key=lambda note: note.pitch.midi)
    return [(note.role, str(note.pitch), note.place.string, note.place.fret) for note in found]


def told(arrangement: Arrangement) -> list[tuple[FormAct, str]]:
    assert arrangement.form is not None
    return [(step.act, step.sentence) for step in arrangement.form.steps]


def test_in_drop_d_a_piece_in_d_ends_on_three_strings_at_the_twelfth_fret() -> None:
    """Root, fifth and octave of D over the node that halves strings 6, 5 and 4."""
    arrangement = close(IN_D, tuning="drop-d")
    assert places(arrangement) == [
        (Role.BASS, "D3", 6, 12),
        (Role.INNER, "A3", 5, 12),
        (Role.MELODY, "D4", 4, 12),
    ]
    assert told(arrangement) == [
        (
            FormAct.ENDING,
            "The last chord is on natural harmonics: string 6 at fret 12, string 5 at fret 12, string 4 at fret 12.",
        )
    ]


def test_one_finger_lies_flat_over_what_is_touched_at_one_fret_and_it_is_no_barre() -> None:
    arrangement = close(IN_D, tuning="drop-d")
    assert len({note.finger for note in touched(arrangement)}) == 1
    assert not any(barre.span.contains(Fraction(6)) for barre in arrangement.barres)
    assert not any(note.in_barre for note in touched(arrangement))


def test_the_tune_keeps_its_last_note_and_the_chord_lasts_as_long() -> None:
    arrangement = close(IN_D, tuning="drop-d")
    last = [note for note in arrangement.notes if note.offset > 6]
    assert {note.span.onset for note in last} == {Fraction(6)}
    assert {note.span.offset for note in last} == {Fraction(8)}
    assert [str(note.pitch) for note in last if note.role is Role.MELODY] == ["D4"]
    assert all(note.pluck for note in last)


def test_the_last_note_is_a_harmonic_over_an_open_root_where_no_more_can_be_touched() -> None:
    """In E: the twelfth over the fifth string, the low E open under it."""
    song = make_song("B4:1 G#4:1 E4:2 F#4:1 G#4:1 E4:2", "E:4 B.dominant:2 E:2")
    arrangement = close(song)
    assert (Role.MELODY, "E4", 5, 7) in places(arrangement)
    bass = [note for note in arrangement.voice(Role.BASS) if note.onset == 6]
    assert [(str(note.pitch), note.place.is_open) for note in bass] == [("E2", True)]
    assert told(arrangement)[0][1] == "The last note of the tune is a natural harmonic: string 5 at fret 7."


def test_where_no_string_gives_the_last_note_the_chord_stays_and_that_is_told() -> None:
    """No harmonic of these six strings is a C."""
    arrangement = close(IN_C)
    assert not touched(arrangement)
    ((act, sentence),) = told(arrangement)
    assert act is FormAct.NOT_DONE
    assert "do not give C" in sentence
    assert sentence.endswith("the last chord is left as it is, without harmonics.")


@pytest.mark.parametrize("level", ["early", "intermediate"])
def test_harmonics_are_for_the_advanced_level(level: str) -> None:
    arrangement = close(IN_D, level, tuning="drop-d")
    assert not touched(arrangement)
    assert told(arrangement)[-1] == (
        FormAct.NOT_DONE,
        f"Level {level} has no natural harmonics: the last chord is left as it is, without harmonics.",
    )


def test_a_lock_in_the_last_bar_is_kept_before_harmonics() -> None:
    lock = NoteLock(bar="2", beat=Fraction(3), string=STRINGS[1], fret=Fret(3))
    arrangement = close(IN_D, tuning="drop-d", key="D", locks=(lock,))
    assert not touched(arrangement)
    assert "A lock settles something" in told(arrangement)[0][1]


def test_a_finger_that_is_kept_free_does_not_touch() -> None:
    for finger in (Finger.INDEX, Finger.RING, Finger.LITTLE):
        lock = FreeFingerLock(Stretch(), finger)
        arrangement = close(IN_D, tuning="drop-d", key="D", locks=(lock,))
        assert touched(arrangement)
        assert all(note.finger is not finger for note in touched(arrangement))


def test_where_two_chords_share_the_last_note_it_is_left_as_it_is() -> None:
    song = make_song("D4:1 F#4:1 A4:2 D4:4", "D:4 G:2 D:2")
    arrangement = close(song, tuning="drop-d")
    assert not touched(arrangement)
    assert "No one chord lasts" in told(arrangement)[0][1]


def test_the_piece_ends_on_harmonics_where_it_is_over_when_played() -> None:
    """D.C. al Fine: the last bar of the page is not the last of the piece."""
    song = make_song("A4:2 D4:2 E4:1 F#4:1 D4:2", "D:4 A.dominant:2 D:2")
    song = replace(
        song, bars=change_bar(change_bar(song.bars, 0, jumps=(Jump.FINE,)), 1, jumps=(Jump.DA_CAPO,))
    )
    assert {note.onset for note in touched(close(song, tuning="drop-d"))} == {Fraction(2)}


def test_with_a_capo_nodes_are_counted_from_it() -> None:
    """With a capo at fret 8 only 11 frets are left, and the octave is off the fingerboard."""
    assert {fret for _, _, _, fret in places(close(IN_D, tuning="drop-d", capo=7))} == {12}
    assert 12 not in {fret for _, _, _, fret in places(close(IN_D, tuning="drop-d", capo=8))}


NATURALS = ("E4", "F4", "G4", "A4", "B4", "C5", "D5", "E5", "F#5", "G5")


@st.composite
def closings(draw: st.DrawFn) -> Song:
    """Two bars: something, then any last note over any of the plain chords, with or without a change under it."""
    last, before = draw(st.sampled_from(NATURALS)), draw(st.sampled_from(NATURALS))
    chord = f"{draw(st.sampled_from('CDEFGAB'))}.{draw(st.sampled_from(('major', 'minor', 'dominant')))}"
    since = draw(st.sampled_from((2, 4, 6)))
    harmony = draw(st.sampled_from((f"{chord}:8", f"C:{since} {chord}:{8 - since}", f"C:7 {chord}:1")))
    return make_song(f"{before}:{since} {last}:{8 - since}", harmony)


@settings(max_examples=25)
@given(song=closings(), tuning=st.sampled_from(("standard", "drop-d")))
def test_any_song_asked_to_end_so_is_a_proven_piece(song: Song, tuning: str) -> None:
    """On harmonics or not, and it is told which."""
    arrangement = close(song, tuning=tuning, melody_octave=None)
    assert arrangement.form is not None
    ending = arrangement.form.steps_of(FormAct.ENDING)
    assert bool(ending) is bool(touched(arrangement))
    assert len({note.onset for note in touched(arrangement)}) <= 1
    inverted = [r for r in arrangement.relaxations if r.step is RelaxationStep.BASS_INVERSION]
    for onset in {note.onset for note in touched(arrangement)}:
        bass = min((n for n in arrangement.notes if n.onset == onset), key=lambda note: note.pitch.midi)
        chord = next(each.chord for each in arrangement.harmony if each.span.contains(onset))
        assert chord is not None
        is_root = bass.pitch.name.pitch_class == chord.root.pitch_class
        assert is_root is not any(relaxation.onset == onset for relaxation in inverted)
