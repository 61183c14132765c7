"""The melody is the song's, and it is on top."""

from dataclasses import replace
from fractions import Fraction

import pytest

from apoyando.model.arrangement import Arrangement, MelodyChange, Note, Role
from apoyando.model.pitch import Interval
from apoyando.model.song import Song
from apoyando.proofing import Breach, Proof, prove_melody
from builders import make_arrangement, make_line, make_note, make_pitch, small_arrangement
from proofing.scene import breaches_of, change_note, song_of, with_sources, witnesses_of

UP_A_FOURTH = Interval(-1, 5)
UP_AN_OCTAVE = Interval(0, 12)


def tune() -> Arrangement:
    return with_sources(make_arrangement(make_line("melody", "E4:1 G4:1 C5:2")))


def song() -> Song:
    return song_of(tune())


def without(arrangement: Arrangement, index: int) -> Arrangement:
    return replace(arrangement, notes=arrangement.notes[:index] + arrangement.notes[index + 1 :])


def at_change(onset: int) -> MelodyChange:
    return MelodyChange("1", Fraction(onset), "G4", "G5", "asked for")


def transposed(arrangement: Arrangement, interval: Interval) -> Arrangement:
    notes = (replace(note, pitch=note.pitch.transposed(interval)) for note in arrangement.notes)
    return replace(arrangement, notes=tuple(notes))


def test_the_melody_as_it_is_in_the_song_is_proven() -> None:
    assert isinstance(prove_melody(tune(), song()), Proof)
    whole = with_sources(small_arrangement())
    assert isinstance(prove_melody(whole, song_of(whole)), Proof)


def test_a_melody_moved_by_the_transposition_is_proven_and_no_other() -> None:
    moved = transposed(tune(), UP_A_FOURTH)
    assert isinstance(prove_melody(replace(moved, transposition=UP_A_FOURTH), song()), Proof)
    assert breaches_of(prove_melody(moved, song())) == [Breach.MELODY_PITCH] * 3


def test_the_octave_may_be_in_the_transposition_or_besides_it() -> None:
    moved = transposed(tune(), UP_AN_OCTAVE)
    assert isinstance(prove_melody(moved, song()), Proof)
    assert isinstance(prove_melody(replace(moved, transposition=UP_AN_OCTAVE), song()), Proof)


def test_one_note_in_another_octave_than_the_rest_is_refuted() -> None:
    odd = change_note(tune(), 1, pitch=make_pitch("G5"))
    (witness,) = witnesses_of(prove_melody(odd, song()))
    assert witness.breach is Breach.MELODY_PITCH
    assert witness.notes == (odd.notes[1],)


def test_a_note_spelled_otherwise_is_refuted() -> None:
    """A score that spells F sharp as G flat is wrong (design.md, section 3)."""
    sharp = with_sources(make_arrangement([make_note("melody", 0, 4, "F#4")]))
    flat = change_note(sharp, 0, pitch=make_pitch("Gb4"))
    assert isinstance(prove_melody(sharp, song_of(sharp)), Proof)
    assert breaches_of(prove_melody(flat, song_of(sharp))) == [Breach.MELODY_PITCH]


def test_a_note_cut_by_a_64th_is_refuted() -> None:
    cut = replace(tune().notes[2].span, offset=Fraction(63, 16))
    assert breaches_of(prove_melody(change_note(tune(), 2, span=cut), song())) == [Breach.MELODY_LENGTH]


def test_a_note_that_is_gone_is_shown_with_its_time() -> None:
    (witness,) = witnesses_of(prove_melody(without(tune(), 1), song()))
    assert witness.breach is Breach.MELODY_MISSING
    assert [witness.onset, witness.offset] == [1, 2]
    assert witness.notes == ()
    assert witness.sentence == "Bar 1, beat 2: G, a note of the melody, is missing."


def test_a_note_that_comes_late_is_missing_in_one_place_and_added_in_another() -> None:
    late = replace(tune().notes[1].span, onset=Fraction(3, 2))
    answer = prove_melody(change_note(tune(), 1, span=late), song())
    assert sorted(breaches_of(answer)) == sorted([Breach.MELODY_MISSING, Breach.MELODY_ADDED])


def test_a_second_note_at_one_onset_is_an_addition() -> None:
    extra = make_note("melody", 1, 1, "E4")
    doubled = replace(tune(), notes=(*tune().notes, extra))
    (witness,) = witnesses_of(prove_melody(doubled, song()))
    assert (witness.breach, witness.notes) == (Breach.MELODY_ADDED, (extra,))


def test_a_note_that_names_the_wrong_source_is_refuted() -> None:
    assert breaches_of(prove_melody(change_note(tune(), 1, source=2), song())) == [Breach.MELODY_SOURCE]


def test_a_listed_change_of_octave_frees_the_pitch_of_its_note_and_nothing_else() -> None:
    listed = replace(change_note(tune(), 1, pitch=make_pitch("G5")), melody_changes=(at_change(1),))
    short = change_note(listed, 1, span=replace(tune().notes[1].span, offset=Fraction(3, 2)))
    elsewhere = replace(listed, melody_changes=(replace(at_change(0), old="E4", new="E4"),))
    assert isinstance(prove_melody(listed, song()), Proof)
    assert breaches_of(prove_melody(short, song())) == [Breach.MELODY_LENGTH]
    assert breaches_of(prove_melody(elsewhere, song())) == [Breach.MELODY_PITCH]
    assert breaches_of(prove_melody(without(listed, 1), song())) == [Breach.MELODY_MISSING]


@pytest.mark.parametrize(
    ("pitch", "change"),
    [("A4", ("G4", "A4")), ("G5", ("G4", "G3")), ("G5", ("E4", "G5"))],
    ids=["another note", "another octave than listed", "another note listed"],
)
def test_a_change_of_octave_is_what_it_is_listed_as(pitch: str, change: tuple[str, str]) -> None:
    old, new = change
    listed = replace(at_change(1), old=old, new=new)
    changed = replace(change_note(tune(), 1, pitch=make_pitch(pitch)), melody_changes=(listed,))
    assert breaches_of(prove_melody(changed, song())) == [Breach.MELODY_CHANGE]


def test_a_note_is_added_nowhere_whatever_is_listed() -> None:
    added = replace(tune(), notes=(*tune().notes, make_note("melody", "1/2", "1/2", "F4")))
    listed = replace(added, melody_changes=(replace(at_change(0), old="E4", new="E4"),))
    assert breaches_of(prove_melody(listed, song())) == [Breach.MELODY_ADDED]


def test_a_song_without_melody_wants_none() -> None:
    silent = replace(song(), melody=())
    assert breaches_of(prove_melody(tune(), silent)) == [Breach.MELODY_ADDED] * 3
    assert isinstance(prove_melody(replace(tune(), notes=()), silent), Proof)


def under(role: Role, pitch: str, onset: int | str = 0, duration: int | str = 1) -> Note:
    return make_note(role, onset, duration, pitch)


@pytest.mark.parametrize("role", [Role.BASS, Role.INNER])
@pytest.mark.parametrize(("pitch", "is_below"), [("D#4", True), ("E4", False), ("F4", False)])
def test_the_accompaniment_stays_strictly_below_the_melody(role: Role, pitch: str, is_below: bool) -> None:
    arrangement = replace(tune(), notes=(*tune().notes, under(role, pitch)))
    answer = prove_melody(arrangement, song())
    assert breaches_of(answer) == ([] if is_below else [Breach.MELODY_COVERED])


def test_a_note_may_lie_above_a_melody_note_that_has_ended() -> None:
    later = replace(tune(), notes=(*tune().notes, under(Role.INNER, "F4", 1, 1)))
    into = replace(tune(), notes=(*tune().notes, under(Role.INNER, "F4", "15/16", 1)))
    assert isinstance(prove_melody(later, song()), Proof)
    (witness,) = witnesses_of(prove_melody(into, song()))
    assert [witness.onset, witness.offset] == [Fraction(15, 16), 1]


@pytest.mark.parametrize(("pitch", "is_below"), [("B3", True), ("C4", False), ("C#4", False)])
def test_the_bass_stays_strictly_below_the_inner_voice(pitch: str, is_below: bool) -> None:
    notes = (*tune().notes, under(Role.BASS, pitch), under(Role.INNER, "C4"))
    answer = prove_melody(replace(tune(), notes=notes), song())
    assert breaches_of(answer) == ([] if is_below else [Breach.VOICES_CROSSED])
