"""What points at the page finds there: the note of every head, and the bars of every system.

Read back from the SVG with the standard library alone.
"""

import re
from itertools import pairwise
from xml.etree.ElementTree import fromstring

from apoyando.engraving import engrave_svgs, find_heads
from apoyando.model.sheet import Sheet, Staves
from builders import make_arrangement, make_bars, make_line
from engraving.pieces import piece_with_form

NS = "{http://www.w3.org/2000/svg}"


def test_every_group_of_a_note_on_the_page_leads_to_a_note() -> None:
    drawn = {
        head
        for page in engrave_svgs(piece_with_form())
        for head in re.findall(r' id="(m\d+v\d+e\d+n\d+)" class="note"', page)
    }
    heads = find_heads(piece_with_form())

    assert set(heads) == drawn
    assert set(heads.values()) == set(range(len(piece_with_form().notes)))


def test_the_heads_of_a_tied_note_are_told_in_order_of_time() -> None:
    arrangement = make_arrangement(make_line("melody", "E4:3 G4:6 E4:3"), make_bars(3))
    assert [head.split("v")[0] for head, place in find_heads(arrangement).items() if place == 1] == [
        "m0",
        "m1",
        "m2",
    ]


def test_each_system_says_from_where_to_where_its_bars_go() -> None:
    arrangement = make_arrangement(make_line("melody", "E4:1/2 F4:1/2 G4:1 A4:1 B4:1 " * 16))
    for staves in (Staves.NOTATION, Staves.TABLATURE):
        told: list[int] = []
        for page in engrave_svgs(arrangement, Sheet(staves=staves)):
            for system in fromstring(page).iter(f"{NS}g"):  # noqa: S314 - drawn by us
                if system.get("class") != "system":
                    continue
                bars = [tuple(map(int, bar.split(":"))) for bar in system.attrib["data-bars"].split()]
                told += [index for index, _, _ in bars]
                assert all(left < right for _, left, right in bars)
                assert all(one[2] == other[1] for one, other in pairwise(bars))
                _assert_heads_lie_in(bars, system)
        assert told == list(range(16))


def _assert_heads_lie_in(bars: list[tuple[int, ...]], system: object) -> None:
    extents = {index: (left, right) for index, left, right in bars}
    for group in system.iter(f"{NS}g"):  # type: ignore[attr-defined] # an element
        for head in group.findall(f"{NS}use[@class='notehead']"):
            left, right = extents[int(group.get("id")[1:].split("v")[0])]
            assert left <= float(head.get("transform")[10:].split(" ")[0]) <= right
