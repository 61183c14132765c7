"""From one plan: the piece, its melody, its accompaniment, each with the fingering of the whole."""

from dataclasses import replace

import pytest

from apoyando.engraving import engrave_svgs
from apoyando.engraving.drawing.shapes import Text
from apoyando.engraving.notation.score import Silence
from apoyando.engraving.notation.variants import LARGE_STAFF_MM, choose_layer, choose_variant
from apoyando.engraving.page.page import Page, make_pages
from apoyando.engraving.rows.barres import BARRE
from apoyando.engraving.staff.digits import DIGIT
from apoyando.model.arrangement import Arrangement, Role
from apoyando.model.dynamics import Dynamic, Layer, Loudness
from apoyando.model.sheet import Sheet, Variant
from builders import make_arrangement, make_barre, make_bars, make_line, make_note, small_arrangement
from engraving.pieces import all_pieces
from references.ink_checker import find_outside, find_touches


def pages(arrangement: Arrangement, variant: Variant, sheet: Sheet | None = None) -> tuple[Page, ...]:
    return make_pages(*choose_variant(arrangement, sheet or Sheet(), variant))


def kinds(arrangement: Arrangement, variant: Variant) -> list[str]:
    drawn = pages(arrangement, variant)
    return [shape.kind for page in drawn for _, line in page.lines for shape in line.shapes]


def silences(arrangement: Arrangement) -> list[Silence]:
    """The rests that are shown in the accompaniment alone."""
    score, _ = choose_variant(arrangement, Sheet(), Variant.ACCOMPANIMENT)
    events = (event for bar in score.bars for voice in bar.voices.values() for event in voice)
    return [event for event in events if isinstance(event, Silence) and event.is_shown]


@pytest.mark.parametrize(
    ("variant", "roles"),
    [
        (Variant.SCORE, {Role.MELODY, Role.BASS, Role.INNER}),
        (Variant.MELODY, {Role.MELODY}),
        (Variant.ACCOMPANIMENT, {Role.BASS, Role.INNER}),
        (Variant.HOLDS, {Role.MELODY, Role.BASS, Role.INNER}),
    ],
)
def test_a_variant_has_the_notes_of_its_roles_as_they_are_fingered_in_the_whole(
    variant: Variant, roles: set[Role]
) -> None:
    whole = small_arrangement()
    assert choose_layer(whole, variant).notes == tuple(n for n in whole.notes if n.role in roles)


def test_the_melody_has_its_stems_up_and_its_fingers() -> None:
    drawn = kinds(small_arrangement(), Variant.MELODY)
    assert DIGIT in drawn
    score, _ = choose_variant(small_arrangement(), Sheet(), Variant.MELODY)
    assert {voice for bar in score.bars for voice in bar.voices} == {1}


def test_the_melody_is_printed_large_unless_the_player_has_chosen_a_size() -> None:
    sizes = [
        choose_variant(small_arrangement(), Sheet(staff_mm=mm), Variant.MELODY)[1].staff_mm
        for mm in (0.0, 7.0)
    ]
    assert sizes == [LARGE_STAFF_MM, 7.0]


@pytest.mark.parametrize(
    ("variant", "title"),
    [
        (Variant.SCORE, "A Small Tune"),
        (Variant.MELODY, "A Small Tune – melody"),
        (Variant.ACCOMPANIMENT, "A Small Tune – accompaniment"),
        (Variant.HOLDS, "A Small Tune – what stays down"),
    ],
)
def test_the_title_says_which_page_it_is(variant: Variant, title: str) -> None:
    (page,) = pages(small_arrangement(), variant)
    first = page.heading.shapes[0].drawing
    assert isinstance(first, Text)
    assert "".join(piece.text for piece in first.pieces) == title


def test_a_chart_is_under_the_holds_alone() -> None:
    with_chart = [variant for variant in Variant if "kept" in kinds(small_arrangement(), variant)]
    assert with_chart == [Variant.HOLDS]


# Rests of the accompaniment.


def test_alone_the_accompaniment_shows_the_rests_in_which_it_is_silent() -> None:
    melody = make_line("melody", "E4:4")
    bass = make_line("bass", "r:1 C3:1 r:1 C3:1")
    shown = silences(make_arrangement((*melody, *bass)))
    assert [(int(rest.onset), int(rest.duration)) for rest in shown] == [(0, 1), (2, 1)]


def test_no_rest_is_shown_while_another_voice_of_the_accompaniment_sounds() -> None:
    bass, inner = make_line("bass", "C3:4"), make_line("inner", "r:1 G3:1 r:1 G3:1")
    assert silences(make_arrangement((*bass, *inner))) == []


def test_where_only_the_melody_sounds_the_accompaniment_has_the_rest_of_a_whole_bar() -> None:
    notes = (*make_line("melody", "E4:8"), *make_line("bass", "r:4 C3:4"))
    (rest,) = silences(make_arrangement(notes))
    assert rest.is_whole_bar


# Barres and dynamics.


def barred(*roles: str) -> Arrangement:
    """F major shapes under a barre, each of the three strings in a role."""
    places = ((1, "F4"), (2, "C4"), (6, "F2"))
    notes = [
        make_note(role, 0, 4, pitch, string, 1, in_barre=True)
        for role, (string, pitch) in zip(roles, places, strict=True)
    ]
    return make_arrangement(notes, make_bars(1), barres=(make_barre(1, 6, 0, 4),))


def test_a_barre_stays_where_two_of_its_strings_are_left() -> None:
    layer = choose_layer(barred("melody", "inner", "bass"), Variant.ACCOMPANIMENT)
    assert len(layer.barres) == 1
    assert all(note.in_barre for note in layer.notes)
    assert BARRE in kinds(barred("melody", "inner", "bass"), Variant.ACCOMPANIMENT)


def test_a_single_note_that_is_left_of_a_barre_has_its_finger_instead() -> None:
    layer = choose_layer(barred("melody", "inner", "bass"), Variant.MELODY)
    assert layer.barres == ()
    assert [note.in_barre for note in layer.notes] == [False]
    assert DIGIT in kinds(barred("melody", "inner", "bass"), Variant.MELODY)


def test_a_variant_keeps_the_dynamics_of_its_layer() -> None:
    marks = tuple(Dynamic(make_bars(1)[0].onset, Loudness.MF, layer) for layer in Layer)
    piece = replace(small_arrangement(), dynamics=marks)
    left = {
        variant: {mark.layer for mark in choose_layer(piece, variant).dynamics}
        for variant in (Variant.MELODY, Variant.ACCOMPANIMENT)
    }
    assert left[Variant.MELODY] == {Layer.MELODY, Layer.ALL}
    assert left[Variant.ACCOMPANIMENT] == {Layer.ACCOMPANIMENT, Layer.ALL}


@pytest.mark.parametrize("variant", [Variant.MELODY, Variant.ACCOMPANIMENT])
@pytest.mark.parametrize("name", ["small", "form", "dense", "compound", "high", "chords", "changes", "empty"])
def test_nothing_touches(name: str, variant: Variant) -> None:
    for page in engrave_svgs(all_pieces()[name](), Sheet(lyrics=True), variant):
        assert [str(touch) for touch in find_touches(page)] == []
        assert find_outside(page) == ()
