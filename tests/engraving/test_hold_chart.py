"""The hold chart shows every note for as long as it stays, on its string, and why it goes.

The signs are those at the top of ``hold_chart`` (our own); lengths are read off the finished
shapes against the heads of the staff above.
"""

from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction

import pytest

from apoyando.engraving import engrave_svgs
from apoyando.engraving.drawing.boxes import Box, hull
from apoyando.engraving.drawing.shapes import Beam, Stroke, Text
from apoyando.engraving.notation.kept import Kept, keep_notes
from apoyando.engraving.notation.score import notate
from apoyando.engraving.notation.variants import choose_variant
from apoyando.engraving.page.lines import Line
from apoyando.engraving.page.page import make_pages
from apoyando.engraving.staff.columns import WrittenHead, written_heads
from apoyando.engraving.staff.hold_chart import CUT, KEPT, RING
from apoyando.engraving.staff.layout import GRID, SPACE
from apoyando.model.arrangement import Arrangement, GivenUpHold, Note
from apoyando.model.ring import Ending, Ring
from apoyando.model.sheet import Sheet, Staves, Variant
from apoyando.proofing import find_rings
from apoyando.reading import load_default_levels
from builders import make_arrangement, make_bars, make_line, make_note, small_arrangement
from engraving.pieces import all_pieces
from references.ink_checker import find_outside, find_touches

LEVEL = load_default_levels()["intermediate"]
SLACK = 0.5 * SPACE
pieces = pytest.mark.parametrize("piece", all_pieces().values(), ids=all_pieces().keys())


def lines(arrangement: Arrangement, rings: tuple[Ring, ...] = (), sheet: Sheet | None = None) -> list[Line]:
    score, usual = choose_variant(arrangement, Sheet(), Variant.HOLDS, rings)
    return [line for page in make_pages(score, sheet or usual) for _, line in page.lines]


def parts(line: Line, kind: str) -> dict[str, Box]:
    """What is drawn of each note, by the id of its head; the legend is left out."""
    owners = {shape.owner for shape in line.shapes if shape.kind == kind}
    return {owner: hull(boxes_of(line, kind, owner)) for owner in owners if not owner.startswith("legend")}


def boxes_of(line: Line, kind: str, owner: str) -> list[Box]:
    return [box for s in line.shapes if (s.kind, s.owner) == (kind, owner) for box in s.boxes()]


def heads(line: Line) -> dict[str, Box]:
    return {s.owner: s.boxes()[0] for s in line.shapes if s.kind == "notehead"}


def rows(line: Line) -> list[float]:
    """The heights of the rows, that of string 1 first."""
    level = {s.boxes()[0].middle[1] for s in line.shapes if s.kind == GRID and s.boxes()[0].width > SPACE}
    return sorted(level)


def playable(arrangement: Arrangement) -> Arrangement:
    """Without notes on a string that still sounds, which the made-up pieces have."""
    kept: list[Note] = []
    for note in arrangement.notes:
        if not any(n.place.string == note.place.string and n.span.overlaps(note.span) for n in kept):
            kept.append(note)
    return replace(arrangement, notes=tuple(kept))


def bar_alone(*notes: Note) -> Arrangement:
    return make_arrangement(notes, make_bars(1))


def make_ring(note: Note, until: int, wanted_until: int, ending: Ending) -> Ring:
    end, wanted = Fraction(until), Fraction(wanted_until)
    return Ring(note=note, until=end, wanted_until=wanted, ending=ending, sentence="")


# From where to where.


def test_there_are_six_rows_under_the_staff() -> None:
    for line in lines(small_arrangement()):
        found = rows(line)
        assert len(found) == 6
        assert found[0] > max(box.bottom for s in line.shapes if s.kind == "stem" for box in s.boxes())


@pieces
def test_every_note_has_one_bar_in_the_row_of_its_string_under_its_head(
    piece: Callable[[], Arrangement],
) -> None:
    arrangement = playable(piece())
    places = {head.note_id: int(head.note.place.string) for head in written(arrangement)}
    struck = 0
    for line in lines(arrangement):
        above = heads(line)
        for owner, bar in parts(line, KEPT).items():
            row = rows(line)[places[owner] - 1] if owner else bar.middle[1]
            assert bar.middle[1] == pytest.approx(row, abs=1)
            is_struck = bool(owner) and owner in first_heads(arrangement)
            # What comes from the line before begins where the music does, before its tied head.
            aside = (2.2 if is_struck else 3.0) * SPACE
            assert not owner or abs(bar.left - above[owner].left) < aside
            struck += is_struck
    assert struck == len(arrangement.notes)


def written(arrangement: Arrangement) -> list[WrittenHead]:
    return list(written_heads(notate(arrangement)).values())


def first_heads(arrangement: Arrangement) -> set[str]:
    return {head.note_id for head in written(arrangement) if not head.event.is_tied_from_before}


def test_a_bar_ends_before_the_head_that_is_struck_when_its_note_ends() -> None:
    tune = bar_alone(*make_line("melody", "E4:1 F4:1 G4:2"), make_note("bass", 0, 2, "C3"))
    (line,) = lines(tune)
    above, bars = heads(line), parts(line, KEPT)
    third, bass = above["m0v1e2n0"], bars["m0v2e0n0"]
    assert third.left - SPACE < bass.right < third.left


def test_a_bar_goes_on_over_the_barline_and_over_the_system() -> None:
    held = make_arrangement([make_note("bass", 0, 64, "C3"), *make_line("melody", "E4:1/2 " * 128)])
    several = lines(held)
    assert len(several) > 1
    for line in several:
        (bass,) = (box for owner, box in parts(line, KEPT).items() if "v2" in owner)
        assert bass.right > max(box.left for box in heads(line).values())


# What is told apart.


def drawings(arrangement: Arrangement) -> set[type]:
    (line,) = lines(arrangement)
    return {type(s.drawing) for s in line.shapes if s.kind == KEPT and not s.owner.startswith("legend")}


def strokes(arrangement: Arrangement) -> int:
    (line,) = lines(arrangement)
    return sum(s.kind == KEPT and not s.owner.startswith("legend") for s in line.shapes)


def test_melody_is_filled_the_others_are_outlined_and_the_bass_is_hatched_too() -> None:
    melody, bass, inner = (bar_alone(make_note(role, 0, 4, "F3")) for role in ("melody", "bass", "inner"))
    assert drawings(melody) == {Beam}
    assert drawings(bass) == drawings(inner) == {Stroke}
    assert strokes(bass) == strokes(inner) + 1


def test_the_bar_of_an_open_string_is_at_most_half_as_high() -> None:
    (line,) = lines(bar_alone(make_note("melody", 0, 2, "E4"), make_note("melody", 2, 2, "F4")))
    open_string, stopped = (box.height for _, box in sorted(parts(line, KEPT).items()))
    assert open_string <= stopped / 2


def test_a_bar_is_open_where_it_goes_on_in_the_next_system() -> None:
    held = make_arrangement([make_note("inner", 0, 64, "C3"), *make_line("melody", "E4:1/2 " * 128)])
    first, *_, last = lines(held)
    closed = [
        sum(
            box.height > box.width
            for s in line.shapes
            if s.kind == KEPT and "v2" in s.owner
            for box in s.boxes()
        )
        for line in (first, last)
    ]
    assert closed == [1, 1]


def test_a_legend_stands_under_the_first_system_alone() -> None:
    tune = make_arrangement(make_line("melody", "E4:1/2 " * 128))
    words = [
        [piece.text for s in line.shapes if isinstance(s.drawing, Text) for piece in s.drawing.pieces]
        for line in lines(tune)
    ]
    assert [("the hand lets go" in each) for each in words] == [True, *[False] * (len(words) - 1)]


# Rings and why they end.


def test_a_thin_line_goes_on_for_as_long_as_the_note_may_ring() -> None:
    note = make_note("inner", 0, 1, "G3")
    tune = bar_alone(*make_line("melody", "E4:1 F4:1 G4:2"), note)
    (line,) = lines(tune, (make_ring(note, 2, 4, Ending.HARMONY_CHANGES),))
    (ring,), (bar,) = parts(line, RING).values(), (b for o, b in parts(line, KEPT).items() if "v2" in o)
    assert ring.left == pytest.approx(bar.right, abs=SLACK)
    assert ring.right < heads(line)["m0v1e2n0"].left
    assert ring.height < bar.height / 2


@pytest.mark.parametrize("ending", Ending)
def test_a_thick_stroke_ends_what_the_hand_ends_and_not_what_the_music_ends(ending: Ending) -> None:
    note = make_note("inner", 0, 1, "G3")
    (line,) = lines(bar_alone(note), (make_ring(note, 2, 4, ending),))
    assert len(parts(line, CUT)) == ending.is_loss


def test_a_ring_that_lasts_as_long_as_it_is_wanted_has_no_stroke() -> None:
    note = make_note("inner", 0, 1, "G3")
    assert not keep_notes(bar_alone(note), (make_ring(note, 2, 2, Ending.FINGER_MOVES),))[0].is_cut


def test_a_melody_note_whose_hold_was_given_up_has_the_stroke() -> None:
    note = make_note("melody", 0, 1, "G4")
    hold = GivenUpHold("1", note.onset, note.pitch, note.offset + 1, note.offset, "")
    assert [kept.is_cut for kept in keep_notes(replace(bar_alone(note), given_up_holds=(hold,)))] == [True]


def test_a_unison_is_one_bar_as_long_as_the_longer_note_and_the_melodys() -> None:
    short, long = make_note("melody", 0, 1, "E4"), make_note("inner", 0, 4, "E4")
    (kept,) = keep_notes(bar_alone(short, long))
    assert kept == Kept(replace(long, role=short.role), long.offset)


# Nothing touches.


@pytest.mark.parametrize("staves", Staves)
@pytest.mark.parametrize("name", ["small", "form", "dense", "compound", "chromatic", "chords", "one note"])
def test_nothing_touches(name: str, staves: Staves) -> None:
    arrangement = playable(all_pieces()[name]())
    rings = find_rings(arrangement, LEVEL)
    for page in engrave_svgs(arrangement, Sheet(staves=staves), Variant.HOLDS, rings):
        assert [str(touch) for touch in find_touches(page)] == []
        assert find_outside(page) == ()


def test_two_notes_at_once_on_one_string_are_found() -> None:
    """The judge can find something."""
    at_once = make_arrangement([make_note("inner", 0, 4, "C4", 2), make_note("inner", 0, 4, "D4", 2)])
    assert [touch for page in engrave_svgs(at_once, Sheet(), Variant.HOLDS) for touch in find_touches(page)]
