"""The text face of the page: STIX 1.1.1, a Times-like face under the SIL Open Font License.

The font files lie in ``fonts/`` and are handed to every renderer by name, so that nothing
depends on the fonts of the machine. Where a line must be measured (a title that has to
fit, a chord symbol that must not touch its neighbour) ``advances.json`` gives the advance
widths of the characters in thousandths of an em, as they stand in the fonts' ``hmtx``
tables; kerning is left out, which errs by less than a hundredth of an em a letter.
"""

import json
from enum import StrEnum
from functools import cache, lru_cache
from importlib.resources import files
from pathlib import Path

FAMILY = "STIX"
CAP_HEIGHT_EM = 0.66
DESCENT_EM = 0.22
DIGIT_HEIGHT_EM = 0.676
UNKNOWN_ADVANCE_EM = 0.7
"""For a character that the table lacks: as wide as a wide letter, so that it errs towards room."""
_KEPT_WIDTHS = 4096


class Face(StrEnum):
    """The three faces shipped. The values are the names of the font files."""

    REGULAR = "Regular"
    BOLD = "Bold"
    ITALIC = "Italic"


def font_paths() -> tuple[Path, ...]:
    """The font files, for renderers that want them one by one."""
    folder = Path(str(files("apoyando.engraving.drawing"))) / "fonts"
    return tuple(folder / f"STIX-{face}.otf" for face in Face)


def text_width(text: str, size: float, face: Face = Face.REGULAR) -> float:
    """How wide a line is, in the unit of ``size`` (the em)."""
    return size * _width_em(text, face)


@lru_cache(_KEPT_WIDTHS)
def _width_em(text: str, face: Face) -> float:
    """A page asks for the same few figures and names again and again."""
    advances = _advances()[face]
    return sum([advances.get(character, UNKNOWN_ADVANCE_EM) for character in text])


@cache
def _advances() -> dict[Face, dict[str, float]]:
    table = json.loads((files("apoyando.engraving.drawing") / "fonts" / "advances.json").read_text("utf-8"))
    return {
        face: {
            character: int(width) / 1000
            for width, characters in table[face].items()
            for character in characters
        }
        for face in Face
    }
