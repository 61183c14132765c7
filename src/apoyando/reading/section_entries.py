"""The ``[[sections]]`` of a plan file: bars, each with a texture of their own.

Laws: ``read_sections(source, name, write_sections(source, sections)) == sections``. A bad entry
is a ``UsageError`` that names the section by its number in the file (and its bar), the entry,
its value and what would be right.
"""

from collections.abc import Sequence

from apoyando.model.errors import UsageError
from apoyando.model.plan import MOST_STEPS_EASIER, TEXTURES, Section
from apoyando.reading.place_entries import read_bar, write_bar
from apoyando.reading.table_lists import read_list, write_list
from apoyando.reading.toml_entries import Table, read_choice, read_whole, refuse_unknown

_ENTRIES = ("bar", "to_bar", "texture", "easier")


def read_sections(source: str, name: str, value: object) -> tuple[Section, ...]:
    """The sections of a plan, in the file's order. Raises UsageError."""
    return read_list(source, name, value, "section", _read_section)


def write_sections(source: str, sections: Sequence[Section]) -> list[dict[str, object]]:
    """The tables of some sections. Raises UsageError for one that could not be read back."""
    return write_list(source, sections, "section", _write_section, _read_section)


def _read_section(place: str, table: Table) -> Section:
    if "bar" in table:
        place += f" (bar {read_bar(place, 'bar', table['bar'])})"
    refuse_unknown(table, _ENTRIES, place)
    if "bar" not in table:
        raise UsageError(f"{place}: the entry bar is missing: write bar = 1 or the like.")
    if not {"texture", "easier"} & table.keys():
        raise UsageError(
            f'{place}: nothing is asked for; write texture = "{TEXTURES[0]}" or easier = 1, or the like.'
        )
    return Section(
        bar=read_bar(place, "bar", table["bar"]),
        to_bar=read_bar(place, "to_bar", table["to_bar"]) if "to_bar" in table else "",
        texture=read_choice(place, "texture", table["texture"], TEXTURES) if "texture" in table else "",
        easier=read_whole(place, "easier", table["easier"], 1, MOST_STEPS_EASIER) if "easier" in table else 0,
    )


def _write_section(section: Section) -> dict[str, object]:
    to_bar = {"to_bar": write_bar(section.to_bar)} if section.to_bar else {}
    texture = {"texture": section.texture} if section.texture else {}
    easier = {"easier": section.easier} if section.easier else {}
    return {"bar": write_bar(section.bar), **to_bar, **texture, **easier}
