"""Every witness shows what it says: looked at again by the test, without the room's own code."""

from collections.abc import Callable, Sequence
from dataclasses import replace
from fractions import Fraction

import pytest

from apoyando.model.arrangement import (
    Arrangement,
    Barre,
    MelodyChange,
    Note,
    Relaxation,
    RelaxationStep,
    Role,
)
from apoyando.model.form import play_order
from apoyando.model.form_steps import Form, FormAct, FormStep
from apoyando.model.song import Bar, MelodyNote, Song
from apoyando.model.time import Span
from apoyando.proofing import (
    SONG_RULES,
    Breach,
    Certificate,
    Rule,
    Witness,
    find_over_level,
    prove_arrangement,
)
from builders import (
    change_bar,
    make_arrangement,
    make_barre,
    make_bars,
    make_harmonic,
    make_harmony,
    make_note,
    make_pitch,
    make_span,
)
from proofing import naive
from proofing.scene import FINGERS, INTERMEDIATE, change_note, place, song_of, with_sources


def good() -> Arrangement:
    """Two bars with an open string, a barre, a held bass and a finger above the barre."""
    melody = [
        make_note("melody", 0, 2, "G4", finger=4),
        make_note("melody", 2, 2, "E4"),
        make_note("melody", 4, 2, "F4", finger=1, in_barre=True),
        make_note("melody", 6, 2, "G4", finger=3),
    ]
    bass = [make_note("bass", 0, 4, "C3", finger=3), make_note("bass", 4, 2, "F2", finger=1, in_barre=True)]
    inner = [
        make_note("inner", 1, 1, "C4"),
        make_note("inner", 3, 1, "G3"),
        make_note("inner", 5, 1, "A3", finger=2),
        make_note("inner", 7, 1, "B3"),
    ]
    return with_sources(
        make_arrangement(
            (*melody, *bass, *inner),
            harmony=make_harmony("C:4 F:2 G:2"),
            barres=(make_barre(1, 6, 4, 2),),
        )
    )


GOOD = good()
SONG = song_of(GOOD)
BY_NAME = {(note.role, note.onset): index for index, note in enumerate(GOOD.notes)}
LOW_F = BY_NAME[Role.BASS, Fraction(4)]
FIRST_INNER = BY_NAME[Role.INNER, Fraction(1)]
BARRE_INNER = BY_NAME[Role.INNER, Fraction(5)]
LAST_INNER = BY_NAME[Role.INNER, Fraction(7)]
SECOND_MELODY = BY_NAME[Role.MELODY, Fraction(2)]


HIGHER_THAN_IT_IS = MelodyChange("1", Fraction(2), "E4", "E5", "out of range")
SONG_WITH_PEAK = replace(
    SONG,
    melody=(
        replace(SONG.melody[0], span=make_span(0, 1)),
        MelodyNote(span=make_span(1, 1), pitch=make_pitch("A4")),
        *SONG.melody[1:],
    ),
)
WITHOUT_ITS_PEAK = replace(
    GOOD,
    notes=tuple(replace(note, source=note.source + 1) if note.source else note for note in GOOD.notes),
    melody_changes=(
        MelodyChange("1", Fraction(0), "quarters G4 A4", "half note G4", "simpler", until=Fraction(2)),
    ),
)


def inner(onset: int | str, duration: int | str, pitch: str, string: int, finger: int) -> Note:
    return make_note("inner", onset, duration, pitch, string=string, finger=finger)


def swap(index: int, note: Note) -> Arrangement:
    notes = [*GOOD.notes[:index], note, *GOOD.notes[index + 1 :]]
    return replace(GOOD, notes=tuple(notes))


def note_changed(index: int, **changes: object) -> Arrangement:
    return change_note(GOOD, index, **changes)


TOUCHED_ABOUT = (make_harmonic("inner", 3, 1, "B4", 2, 12), make_harmonic("bass", 3, 1, "D4", 4, 12))
"""On both sides of the open third string."""
BARRES = GOOD.barres
BROKEN: dict[Breach, tuple[Arrangement, Song]] = {
    Breach.WRONG_PITCH: (note_changed(FIRST_INNER, place=place(2, 3), finger=FINGERS[3]), SONG),
    Breach.NO_SUCH_PLACE: (note_changed(LAST_INNER, place=place(9, 4)), SONG),
    Breach.FINGER_AND_PLACE: (note_changed(LAST_INNER, finger=FINGERS[1]), SONG),
    Breach.NO_NODE: (note_changed(FIRST_INNER, is_harmonic=True), SONG),
    Breach.STRING_DAMPED: (replace(GOOD, notes=(*GOOD.notes, *TOUCHED_ABOUT)), SONG),
    Breach.STRING_TAKEN: (swap(FIRST_INNER, inner(1, 1, "E3", 5, 4)), SONG),
    Breach.FINGER_TAKEN: (note_changed(FIRST_INNER, finger=FINGERS[3]), SONG),
    Breach.FINGER_ORDER: (note_changed(FIRST_INNER, finger=FINGERS[4]), SONG),
    Breach.TOO_WIDE: (swap(FIRST_INNER, inner(1, 1, "E4", 3, 4)), SONG),
    Breach.NO_BARRE: (note_changed(LAST_INNER, place=place(3, 4), finger=FINGERS[1], in_barre=True), SONG),
    Breach.BARRE_UNUSED: (replace(GOOD, barres=(*BARRES, make_barre(1, 2, 2, 1))), SONG),
    Breach.BARRE_IMPOSSIBLE: (replace(GOOD, barres=(make_barre(1, 9, 4, 2),)), SONG),
    Breach.BARRES_CLASH: (replace(GOOD, barres=(*BARRES, make_barre(1, 4, 5, 1))), SONG),
    Breach.FINGER_LEAVES_BARRE: (note_changed(LOW_F, in_barre=False), SONG),
    Breach.OPEN_UNDER_BARRE: (note_changed(BARRE_INNER, place=place(3, 0), finger=FINGERS[0]), SONG),
    Breach.BESIDE_BARRE: (note_changed(BARRE_INNER, place=place(3, 1)), SONG),
    Breach.MELODY_MISSING: (
        replace(GOOD, notes=GOOD.notes[:SECOND_MELODY] + GOOD.notes[SECOND_MELODY + 1 :]),
        SONG,
    ),
    Breach.MELODY_ADDED: (note_changed(FIRST_INNER, role=Role.MELODY), SONG),
    Breach.MELODY_PITCH: (note_changed(SECOND_MELODY, pitch=make_pitch("D4")), SONG),
    Breach.MELODY_LENGTH: (note_changed(SECOND_MELODY, span=make_span(2, 1)), SONG),
    Breach.MELODY_SOURCE: (note_changed(SECOND_MELODY, source=None), SONG),
    Breach.MELODY_CHANGE: (replace(GOOD, melody_changes=(HIGHER_THAN_IT_IS,)), SONG),
    Breach.MELODY_CARRIED: (WITHOUT_ITS_PEAK, SONG_WITH_PEAK),
    Breach.MELODY_COVERED: (swap(FIRST_INNER, inner(1, 1, "G4", 1, 3)), SONG),
    Breach.VOICES_CROSSED: (swap(FIRST_INNER, inner(1, 1, "C3", 6, 4)), SONG),
    Breach.BARS_BROKEN: (replace(GOOD, bars=change_bar(GOOD.bars, 1, span=make_span(5, 4))), SONG),
    Breach.BARS_DIFFER: (replace(GOOD, bars=make_bars(3)), SONG),
    Breach.FORM_SOURCE: (replace(GOOD, form=Form((0,), ())), SONG),
    Breach.FORM_ORDER: (replace(GOOD, bars=change_bar(GOOD.bars, 1, repeat_times=2)), SONG),
    Breach.FORM_CUT: (
        replace(GOOD, form=Form((0, 1), (FormStep(act=FormAct.LEFT_OUT, sentence="", first=1, end=2),))),
        replace(SONG, melody=(replace(SONG.melody[0], span=make_span(3, 2)),)),
    ),
    Breach.FORM_UPBEAT: (
        replace(GOOD, form=Form((0, 1), (FormStep(act=FormAct.SHORTENED, sentence="", bar=0),))),
        SONG,
    ),
    Breach.FORM_ENDING: (
        replace(GOOD, form=Form((0, 1), (FormStep(act=FormAct.ENDING, sentence="", bar=1),))),
        SONG,
    ),
    Breach.OUTSIDE_PIECE: (note_changed(LAST_INNER, span=make_span(7, 2)), SONG),
    Breach.VOICE_OVERLAP: (note_changed(FIRST_INNER, span=make_span(1, 3)), SONG),
    Breach.NO_CHORD: (replace(GOOD, harmony=make_harmony("C:4 F:2 N.C.:2")), SONG),
    Breach.NOT_A_TONE: (swap(FIRST_INNER, inner(1, 1, "D4", 2, 3)), SONG),
    Breach.RUNS_INTO_CHORD: (note_changed(BARRE_INNER, span=make_span(5, 2)), SONG),
    Breach.CHORDS_DIFFER: (replace(GOOD, harmony=make_harmony("C:4 F:2 E.minor:2")), SONG),
    Breach.BASS_UNTOLD: (
        replace(GOOD, relaxations=(Relaxation(RelaxationStep.BASS_LINE, "1", Fraction(0), "a line"),)),
        SONG,
    ),
    Breach.REPORT_NOWHERE: (
        replace(GOOD, relaxations=(Relaxation(RelaxationStep.BASS_DROPPED, "7", Fraction(7), "none"),)),
        SONG,
    ),
}
"""For each breach an arrangement that is broken so (perhaps in other ways besides)."""

SCORE_BREACHES = {
    Breach.SCORE_NOTE_MISSING,
    Breach.SCORE_NOTE_ADDED,
    Breach.SCORE_NOTE_LENGTH,
    Breach.FINGERING_CHANGED,
}
"""A song cannot be broken so: see ``test_scores.py``."""


def test_the_arrangement_that_will_be_broken_is_proven() -> None:
    certificate = prove_arrangement(GOOD, SONG, INTERMEDIATE)
    assert certificate.is_proven, certificate.witnesses
    assert [proof.rule for proof in certificate.proofs] == list(SONG_RULES)
    assert certificate.refutations == ()
    assert find_over_level(GOOD, INTERMEDIATE) == ()


def test_every_breach_has_its_example() -> None:
    assert set(BROKEN) | SCORE_BREACHES == set(Breach)


@pytest.mark.parametrize("breach", BROKEN)
def test_each_breach_is_found_and_its_witness_shows_it(breach: Breach) -> None:
    arrangement, song = BROKEN[breach]
    certificate = prove_arrangement(arrangement, song, INTERMEDIATE)
    assert not certificate.is_proven
    assert breach in {witness.breach for witness in certificate.witnesses}
    for witness in certificate.witnesses:
        check(witness, arrangement, song)


def test_a_certificate_holds_proofs_and_refutations_apart() -> None:
    arrangement, song = BROKEN[Breach.BARRE_UNUSED]
    certificate = prove_arrangement(arrangement, song, INTERMEDIATE)
    assert [refutation.rule for refutation in certificate.refutations] == [Rule.BARRES]
    assert len(certificate.proofs) == len(SONG_RULES) - 1
    assert certificate.widest is not None
    assert Certificate(certificate.refutations).widest is None


def test_witnesses_are_in_order_of_time() -> None:
    late_first = replace(GOOD, barres=(*BARRES, make_barre(3, 2, 7, 1), make_barre(3, 2, 2, 1)))
    (refutation,) = prove_arrangement(late_first, SONG, INTERMEDIATE).refutations
    onsets = [witness.onset for witness in refutation.witnesses]
    assert onsets == sorted(onsets)
    assert len(onsets) > 2


def test_a_small_hand_may_be_refuted_where_a_large_one_is_not() -> None:
    assert prove_arrangement(GOOD, SONG, INTERMEDIATE, 1.0).is_proven
    (refutation,) = prove_arrangement(GOOD, SONG, INTERMEDIATE, 0.5).refutations
    assert refutation.rule is Rule.REACH


def check(witness: Witness, arrangement: Arrangement, song: Song) -> None:
    """A witness from its own notes: it is in the arrangement, in its time, and shows its breach."""
    assert all(note in arrangement.notes for note in witness.notes)
    assert all(barre in arrangement.barres for barre in witness.barres)
    assert witness.onset <= witness.offset
    assert witness.sentence[0].isupper()
    assert witness.sentence.endswith(".")
    spans = [*(note.span for note in witness.notes), *(barre.span for barre in witness.barres)]
    for span in spans:
        assert span.onset <= witness.onset < witness.offset <= span.offset
    assert SHOWS[witness.breach](witness, arrangement, song), witness


Shows = Callable[[Witness, Arrangement, Song], bool]


def one(look: Callable[[Note, Arrangement], bool]) -> Shows:
    return lambda witness, arrangement, _song: look(witness.notes[0], arrangement)


def two(look: Callable[[Note, Note], bool]) -> Shows:
    return lambda witness, _arrangement, _song: look(witness.notes[0], witness.notes[1])


def sounds(note: Note, arrangement: Arrangement) -> int:
    return arrangement.tuning.open_strings[note.place.string - 1] + note.place.fret


def cross(a: Note, b: Note) -> bool:
    (_, low_fret, low_string), (_, high_fret, high_string) = sorted(
        (n.finger, n.place.fret, -n.place.string) for n in (a, b)
    )
    return (low_fret, low_string) > (high_fret, high_string) and a.finger != b.finger


def too_wide(witness: Witness, _arrangement: Arrangement, _song: Song) -> bool:
    if witness.barres:
        (barre,), (note,) = witness.barres, witness.notes
        gaps = [naive.gap_mm(spot, naive.spot(note)) for spot in spots_of(barre)]
        low_finger, high_finger = sorted((barre.finger, note.finger))
        return min(gaps) > INTERMEDIATE.spans[low_finger, high_finger].outermost_mm
    low, high = sorted(witness.notes, key=lambda note: note.finger)
    gap = naive.gap_mm(naive.spot(low), naive.spot(high))
    return gap > INTERMEDIATE.spans[low.finger, high.finger].outermost_mm


def has_no_barre(witness: Witness, arrangement: Arrangement, _song: Song) -> bool:
    """One note: never covered. Two: at some 64th no one barre covers both."""
    moments, moment = [], witness.onset
    while moment < witness.offset:
        moments.append(moment)
        moment += naive.SIXTY_FOURTH
    covered = [any(covers_all(barre, m, witness.notes) for barre in arrangement.barres) for m in moments]
    if len(witness.notes) == 1:
        return witness.notes[0].in_barre and not any(covered)
    return not all(covered)


def covers_all(barre: Barre, moment: Fraction, notes: Sequence[Note]) -> bool:
    if not barre.span.contains(moment):
        return False
    return all(note.finger == barre.finger and naive.spot(note) in spots_of(barre) for note in notes)


def spots_of(barre: Barre) -> set[tuple[int, int]]:
    return {(string, barre.fret) for string in range(barre.highest_string, barre.lowest_string + 1)}


def is_unused(witness: Witness, arrangement: Arrangement, _song: Song) -> bool:
    (barre,) = witness.barres
    return not any(
        note.in_barre
        and note.finger == barre.finger
        and note.span.overlaps(barre.span)
        and naive.spot(note) in spots_of(barre)
        for note in arrangement.notes
    )


def beside_barre(look: Callable[[Note, Barre], bool]) -> Shows:
    def shows(witness: Witness, _arrangement: Arrangement, _song: Song) -> bool:
        (barre,), (note,) = witness.barres, witness.notes
        return look(note, barre)

    return shows


def sung_at(song: Song, onset: Fraction) -> list[int]:
    return [sung.pitch.midi for sung in song.melody if sung.onset == onset]


def chord_at(arrangement: Arrangement, moment: Fraction) -> str:
    """The root and kind that last at a moment; these tests use plain chords only."""
    for harmony in arrangement.harmony:
        if harmony.span.contains(moment):
            return f"{harmony.chord.root} {harmony.chord.kind}" if harmony.chord else "N.C."
    return ""


TONES = {
    "C major": {0, 4, 7},
    "F major": {5, 9, 0},
    "G major": {7, 11, 2},
    "E minor": {4, 7, 11},
    "N.C.": set[int](),
    "": set[int](),
}


def strange_at(moment: Callable[[Witness], Fraction]) -> Shows:
    def shows(witness: Witness, arrangement: Arrangement, _song: Song) -> bool:
        return witness.notes[0].pitch.midi % 12 not in TONES[chord_at(arrangement, moment(witness))]

    return shows


def is_not_in_report_place(witness: Witness, arrangement: Arrangement, _song: Song) -> bool:
    numbers = {bar.number for bar in arrangement.bars if bar.span.contains(witness.onset)}
    return witness.bar not in numbers


def spans_of(bars: Sequence[Bar]) -> list[Span]:
    return [bar.span for bar in bars]


def form_of(arrangement: Arrangement) -> Form:
    assert arrangement.form is not None
    return arrangement.form


def begins_under_a_held_note(_witness: Witness, arrangement: Arrangement, song: Song) -> bool:
    """In these tests every bar is played once, in order."""
    edges = [song.bars[step.first].onset for step in form_of(arrangement).steps]
    return any(note.onset < edge < note.offset for note in song.melody for edge in edges)


SHOWS: dict[Breach, Shows] = {
    Breach.FORM_SOURCE: lambda _w, a, _song: len(form_of(a).sources) != len(a.bars),
    Breach.FORM_ORDER: lambda _w, a, song: play_order(a.bars) != play_order(song.bars) or bool(a.form),
    Breach.FORM_CUT: begins_under_a_held_note,
    Breach.FORM_UPBEAT: lambda _w, a, _song: not any(bar.is_pickup for bar in a.bars),
    Breach.FORM_ENDING: lambda _w, a, _song: not any(n.has_fermata or n.is_rolled for n in a.notes),
    Breach.WRONG_PITCH: one(lambda note, a: sounds(note, a) != note.pitch.midi),
    Breach.NO_SUCH_PLACE: one(lambda note, _a: note.place.string not in range(1, 7) or note.place.fret > 19),
    Breach.FINGER_AND_PLACE: one(lambda note, _a: (note.finger == 0) != (note.place.fret == 0)),
    Breach.NO_NODE: one(
        lambda note, _a: note.is_harmonic and note.place.fret not in {4, 5, 7, 9, 12, 16, 19}
    ),
    Breach.STRING_DAMPED: lambda w, _a, _s: (
        min(n.place.string for n in w.notes[1:])
        < w.notes[0].place.string
        < max(n.place.string for n in w.notes[1:])
    ),
    Breach.STRING_TAKEN: two(lambda a, b: a.place.string == b.place.string),
    Breach.FINGER_TAKEN: two(lambda a, b: a.finger == b.finger > 0 and a.place != b.place),
    Breach.FINGER_ORDER: two(cross),
    Breach.TOO_WIDE: too_wide,
    Breach.NO_BARRE: has_no_barre,
    Breach.BARRE_UNUSED: is_unused,
    Breach.BARRE_IMPOSSIBLE: lambda w, _a, _s: (
        w.barres[0].fret < 1 or w.barres[0].lowest_string not in range(2, 7) or len(spots_of(w.barres[0])) < 2
    ),
    Breach.BARRES_CLASH: lambda w, _a, _s: len(w.barres) == 2,  # that they overlap is checked for all
    Breach.FINGER_LEAVES_BARRE: beside_barre(
        lambda note, barre: (
            note.finger == barre.finger and not (note.in_barre and naive.spot(note) in spots_of(barre))
        )
    ),
    Breach.OPEN_UNDER_BARRE: beside_barre(
        lambda note, barre: note.place.fret == 0 and (note.place.string, barre.fret) in spots_of(barre)
    ),
    Breach.BESIDE_BARRE: beside_barre(
        lambda note, barre: note.finger not in {0, barre.finger} and not naive.goes_with(note, barre)
    ),
    Breach.MELODY_MISSING: lambda w, a, s: (
        bool(sung_at(s, w.onset)) and not any(n.onset == w.onset and n.role is Role.MELODY for n in a.notes)
    ),
    Breach.MELODY_ADDED: lambda w, _a, s: not sung_at(s, w.onset),
    Breach.MELODY_PITCH: lambda w, _a, s: w.notes[0].pitch.midi not in sung_at(s, w.onset),
    Breach.MELODY_LENGTH: lambda w, _a, s: w.notes[0].span not in [sung.span for sung in s.melody],
    Breach.MELODY_SOURCE: lambda w, _a, s: (
        w.notes[0].source is None or s.melody[w.notes[0].source].onset != w.onset
    ),
    Breach.MELODY_CHANGE: lambda w, a, _s: (
        {change.new for change in a.melody_changes if change.onset == w.onset}
        != {str(n.pitch) for n in a.notes if n.role is Role.MELODY and n.onset == w.onset}
    ),
    Breach.MELODY_CARRIED: lambda w, a, s: (
        bool(sung_at(s, w.onset)) and not any(n.onset == w.onset and n.role is Role.MELODY for n in a.notes)
    ),
    Breach.MELODY_COVERED: two(
        lambda a, b: (a.pitch.midi - b.pitch.midi) * (1 if b.role is Role.MELODY else -1) >= 0
    ),
    Breach.VOICES_CROSSED: two(
        lambda a, b: (a.pitch.midi - b.pitch.midi) * (1 if b.role is Role.INNER else -1) >= 0
    ),
    Breach.BARS_BROKEN: lambda w, a, _s: (
        w.onset != 0 and w.onset not in {bar.offset for bar in a.bars if bar.onset != w.onset}
    ),
    Breach.BARS_DIFFER: lambda w, a, s: (
        (Span(w.onset, w.offset) in spans_of(a.bars)) != (Span(w.onset, w.offset) in spans_of(s.bars))
    ),
    Breach.OUTSIDE_PIECE: one(lambda note, a: note.onset < 0 or note.offset > a.bars[-1].offset),
    Breach.VOICE_OVERLAP: two(lambda a, b: a.role is b.role),
    Breach.NO_CHORD: strange_at(lambda w: w.notes[0].onset),
    Breach.NOT_A_TONE: strange_at(lambda w: w.notes[0].onset),
    Breach.RUNS_INTO_CHORD: strange_at(lambda w: w.onset),
    Breach.CHORDS_DIFFER: lambda w, a, s: (
        [h for h in a.harmony if h.onset == w.onset] != [h for h in s.harmony if h.onset == w.onset]
    ),
    # The example tells of the C under its C major as another bass.
    Breach.BASS_UNTOLD: lambda w, a, _song: (
        a.relaxations[0].onset == w.onset and w.notes[0].pitch.name == make_pitch("C3").name
    ),
    Breach.REPORT_NOWHERE: is_not_in_report_place,
}
"""For each breach a look at the witness's own notes and times."""
