"""Nothing on a page touches what it should not, however much fingering is printed.

The judge is ``references/ink_checker.py``: it reads the finished SVG and shares no code with what
drew it. All songs that are at hand are judged by ``bench/collisions_bench.py``.
"""

from collections.abc import Callable

import pytest

from apoyando.engraving import engrave_svgs
from apoyando.model.arrangement import Arrangement
from apoyando.model.sheet import Marking, Sheet
from engraving.pieces import all_pieces
from references.ink_checker import find_outside, find_touches

pieces = pytest.mark.parametrize("name", [name for name in all_pieces() if name != "absurd"])
markings = pytest.mark.parametrize("marking", Marking)


@markings
@pieces
def test_nothing_touches_and_nothing_runs_off_the_sheet(name: str, marking: Marking) -> None:
    for page in engrave_svgs(all_pieces()[name](), Sheet(marking=marking)):
        assert [str(touch) for touch in find_touches(page)] == []
        assert find_outside(page) == ()


ADDED = frozenset({"digit", "string", "pluck", "barre", "symbol", "ending", "words", "barNumber", "heading"})


def marks_that_touch(piece: Callable[[], Arrangement]) -> list[str]:
    touches = (touch for page in engrave_svgs(piece()) for touch in find_touches(page))
    return [str(touch) for touch in touches if ADDED & {touch.one.kind, touch.other.kind}]


def test_even_in_an_absurd_piece_nothing_that_is_added_to_the_layout_touches_anything() -> None:
    assert marks_that_touch(all_pieces()["absurd"]) == []
