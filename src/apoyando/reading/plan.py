"""The plan file: the player's decisions for one song, as TOML beside it.

Law: ``read_plan(write_plan(plan), name) == plan``, and the same plan gives the same text.
An entry that is left out keeps its default. What may stand in a lock: ``lock_entries``;
in a chord: ``chord_entries``; in a note: ``song_entries``.
"""

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from difflib import get_close_matches
from typing import Any

import tomlkit
from tomlkit.items import AoT, Table

from apoyando.model.errors import UsageError
from apoyando.model.instrument import TUNINGS
from apoyando.model.plan import (
    ENDINGS,
    HIGHEST_CAPO,
    INTRODUCTIONS,
    TEXTURES,
    TREATMENTS,
    Melody,
    Plan,
    Treatment,
)
from apoyando.model.prices import HIGHEST_FACTOR, PRICE_NAMES
from apoyando.reading.chord_entries import read_chord_changes, write_chord_changes
from apoyando.reading.level_table import load_default_levels
from apoyando.reading.lock_entries import read_locks, write_locks
from apoyando.reading.page_entries import read_sheet, write_sheet
from apoyando.reading.section_entries import read_sections, write_sections
from apoyando.reading.song_entries import (
    read_note_changes,
    read_pickup,
    read_written_key,
    write_note_changes,
    write_pickup,
    write_written_key,
)
from apoyando.reading.toml_entries import (
    bad_entry,
    parse_toml,
    read_choice,
    read_choices,
    read_flag,
    read_number,
    read_table,
    read_whole,
    refuse_unknown,
)

_TONICS = tuple(f"{letter}{sign}" for letter in "CDEFGAB" for sign in ("", "#", "b"))
_FARTHEST_OCTAVES = 5
"""The lowest note that MIDI has is brought onto the fingerboard from there, in any key."""
_HAND_SIZES = (0.5, 1.5)
_MINUTES = (0.1, 60.0)
_LEFT_OPEN = {
    "melody_octave": "0",
    "minutes": "2.5",
    "written_key": '"D minor"',
    "pickup": '"quarter"',
}
"""What stands in the comment for an entry that is left out."""
_LONGEST_NAME = 200
_HEADING = (
    "What you have decided for this song. The same song with the same plan gives the same pages.",
    "Change an entry and arrange again; take an entry out to leave the choice to the program.",
)


@dataclass(frozen=True, slots=True)
class _Entry:
    """One line of the file: its comment in the player's words, and how its value is read."""

    comments: tuple[str, ...]
    read: Callable[[str, str, object], object]


def _read_tonic(source: str, name: str, value: object) -> str:
    if value == "":
        return ""
    if not isinstance(value, str) or value not in _TONICS:
        raise bad_entry(source, name, value, 'write a tonic as "G", "F#" or "Bb", or "" to let it be chosen')
    return value


def _read_level(source: str, name: str, value: object) -> str:
    """Any name; ``read_plan`` knows which levels there are."""
    if not isinstance(value, str) or not value:
        raise bad_entry(source, name, value, "write the name of a level")
    return value


def _read_texture(source: str, name: str, value: object) -> str:
    return "" if value == "" else read_choice(source, name, value, TEXTURES)


def _read_tuning(source: str, name: str, value: object) -> str:
    return "" if value == "" else read_choice(source, name, value, TUNINGS)


def _read_capo(source: str, name: str, value: object) -> int:
    return read_whole(source, name, value, 0, HIGHEST_CAPO)


def _read_melody(source: str, name: str, value: object) -> Melody:
    return Melody(read_choice(source, name, value, tuple(Melody)))


def _read_treatments(source: str, name: str, value: object) -> tuple[Treatment, ...]:
    return tuple(Treatment(each) for each in read_choices(source, name, value, TREATMENTS))


def _read_octave(source: str, name: str, value: object) -> int:
    return read_whole(source, name, value, -_FARTHEST_OCTAVES, _FARTHEST_OCTAVES)


def _read_hand_size(source: str, name: str, value: object) -> float:
    return read_number(source, name, value, *_HAND_SIZES)


def _read_introduction(source: str, name: str, value: object) -> str:
    return _read_named(source, name, value, INTRODUCTIONS)


def _read_ending(source: str, name: str, value: object) -> str:
    return _read_named(source, name, value, ENDINGS)


def _read_named(source: str, name: str, value: object, choices: Sequence[str]) -> str:
    """One of the choices; "" is one of them."""
    if value not in choices:
        named = ", ".join(f'"{choice}"' for choice in choices)
        raise bad_entry(source, name, value, f"write one of {named}")
    return str(value)


def _read_minutes(source: str, name: str, value: object) -> float:
    return read_number(source, name, value, *_MINUTES)


def _read_part(source: str, name: str, value: object) -> str:
    """Which parts there are is known when the song is read."""
    if isinstance(value, int) and not isinstance(value, bool) and value > 0:
        return str(value)
    if not isinstance(value, str) or len(value) > _LONGEST_NAME:
        raise bad_entry(
            source, name, value, 'write the name or the number of a part, or "" to let it be chosen'
        )
    return value


def _read_prices(source: str, name: str, value: object) -> dict[str, float]:
    factors = read_table(source, name, value)
    for price in factors:
        if price not in PRICE_NAMES:
            near = ", ".join(get_close_matches(price, PRICE_NAMES)) or "none"
            raise UsageError(
                f"{source}, {name}: there is no price {price}; of like name: {near}. "
                "All prices are told in docs/objective.md."
            )
    return {
        price: read_number(f"{source}, {name}", price, factors[price], 0.0, HIGHEST_FACTOR)
        for price in sorted(factors)
    }


_ENTRIES: dict[str, _Entry] = {
    "key": _Entry(
        ('The key by its tonic, as "G", "F#" or "Bb"; "" takes the key that lies best on the guitar.',),
        _read_tonic,
    ),
    "sounding": _Entry(
        (
            "The key in which it must sound, for a singer or a client, as the key; a capo at fret 1 to 5",
            'reaches it with easier shapes. "" leaves that free.',
        ),
        _read_tonic,
    ),
    "part": _Entry(
        (
            'The part that is the melody, by its name or its number in a score of several; "" takes the',
            "one that is called so, has the words, or lies highest.",
        ),
        _read_part,
    ),
    "level": _Entry(("How hard it may be: early, intermediate or advanced.",), _read_level),
    "texture": _Entry(
        (
            f"The accompaniment: {', '.join(TEXTURES[:4])},",
            f'{", ".join(TEXTURES[4:])}; "" takes what suits meter, tempo and level.',
        ),
        _read_texture,
    ),
    "sections": _Entry(
        (
            "Bars with a texture of their own, or made easier, one [[sections]] for each: from bar to to_bar,",
            "or the one bar. Of several on a bar the last counts.",
        ),
        read_sections,
    ),
    "tuning": _Entry(
        ('standard, or drop-d: the sixth string a tone lower; "" takes the one that lies better.',),
        _read_tuning,
    ),
    "capo": _Entry(
        ("The fret of the capo; 0 is none, or the one that lies best where the sounding key must stay.",),
        _read_capo,
    ),
    "melody": _Entry(
        (
            "The tune: by-level (made simpler where the level asks for it), as-written, or simpler:",
            "nothing shorter than an eighth, no syncopations.",
        ),
        _read_melody,
    ),
    "simplify": _Entry(
        (f"What may be made simpler in the tune, some of: {', '.join(TREATMENTS)}.",),
        _read_treatments,
    ),
    "melody_octave": _Entry(
        (
            "The tune so many octaves higher (1) or lower (-1) than in the song.",
            "Left out: where it sings best.",
        ),
        _read_octave,
    ),
    "hand_size": _Entry(
        ("1.0 is a hand with the stretches of the level; 0.9 stretches a tenth less.",),
        _read_hand_size,
    ),
    "same_fingering": _Entry(
        ("Bars that come again are played as the first time: true or false.",),
        read_flag,
    ),
    "introduction": _Entry(
        ('What stands before the song: "" nothing, "last-phrase", or two bars on the "dominant".',),
        _read_introduction,
    ),
    "ending": _Entry(
        (
            'The last chord: "" as written, held under a "fermata", a "rolled-chord", or on "harmonics" (advanced).',
        ),
        _read_ending,
    ),
    "spell_out": _Entry(
        ("Repeats, D.C. and D.S. written out, so that nobody turns back: true or false.",),
        read_flag,
    ),
    "minutes": _Entry(
        (
            "How long the piece should last: whole sections are left out or played again.",
            "Left out: as long as the song.",
        ),
        _read_minutes,
    ),
    "written_key": _Entry(
        ("The key that the song is written in, with its mode. Left out: as the song has it.",),
        read_written_key,
    ),
    "pickup": _Entry(
        (
            'What stands before the first full bar, as a note value, or "none"; the barlines move with it.',
            "Left out: as the song has it.",
        ),
        read_pickup,
    ),
    "prices": _Entry(
        (
            "What you mind more (a factor above 1) or less (below 1) than usual, by the names that",
            "the report uses.",
        ),
        _read_prices,
    ),
    "page": _Entry(
        (
            "The page: paper a4 or letter; margin and height of the staff in millimetres; marking clean, normal",
            "or full (how much fingering is printed); staves notation, notation-and-tablature or tablature; and",
            "whether lyrics, chord symbols, chord diagrams and lines for what is held are printed.",
        ),
        read_sheet,
    ),
    "notes": _Entry(
        (
            "Notes of the tune that you would have otherwise, one [[notes]] for each: another pitch or length,",
            "a note where none begins, or rest = true for one that is not there.",
        ),
        read_note_changes,
    ),
    "chords": _Entry(
        (
            "Chords that you would have otherwise, one [[chords]] for each: from its beat on to the next chord.",
        ),
        read_chord_changes,
    ),
    "locks": _Entry(
        (
            "What is settled for the hands, one [[locks]] for each: a note on its string, fret or finger,",
            "a bar's position or chord shape, no barre, a finger that stays free. They are never broken.",
        ),
        read_locks,
    ),
}
_EXAMPLES = {
    "notes": ("[[notes]]", "bar = 1", "beat = 1", 'pitch = "F#4"', 'length = "dotted quarter"'),
    "chords": ("[[chords]]", "bar = 1", "beat = 1", 'chord = "Am7"'),
    "sections": ("[[sections]]", "bar = 1", "to_bar = 8", 'texture = "bare"'),
    "locks": ("[[locks]]", "bar = 1", "beat = 1", 'voice = "melody"', "string = 2"),
}
_WRITERS: dict[str, Callable[[str, Any], object]] = {
    "page": write_sheet,
    "written_key": write_written_key,
    "pickup": write_pickup,
    "notes": write_note_changes,
    "chords": write_chord_changes,
    "sections": write_sections,
    "locks": write_locks,
}
"""How the entries that are tables or lists of tables are written."""


def read_plan(text: str, file_name: str, levels: Collection[str] | None = None) -> Plan:
    """The decisions in a plan file. ``levels`` are those that there are (None: the program's own).

    Raises UsageError naming the entry, its value and what would be right.
    """
    return change_plan(Plan(), parse_toml(text, file_name), file_name, levels)


def list_entries(text: str, file_name: str) -> frozenset[str]:
    """The entries that a plan file has, those of its page as ``page.staves``. Raises UsageError where it is no TOML."""
    entries = parse_toml(text, file_name)
    page = entries.get("page")
    return frozenset((*entries, *(f"page.{name}" for name in (page if isinstance(page, dict) else ()))))


def change_plan(
    plan: Plan, changes: Mapping[str, object], source: str, levels: Collection[str] | None = None
) -> Plan:
    """The plan with some entries as a plan file would have them, None for one that is left out.

    ``source`` says in errors where they come from. Raises UsageError as ``read_plan`` does.
    """
    refuse_unknown(changes, _ENTRIES, source)
    if "level" in changes:
        read_choice(source, "level", changes["level"], load_default_levels() if levels is None else levels)
    values = {
        name: getattr(Plan(), name) if value is None else _ENTRIES[name].read(source, name, value)
        for name, value in changes.items()
    }
    return replace(plan, **values)  # type: ignore[arg-type] # each entry reads the type of its field


def write_plan(plan: Plan) -> str:
    """The plan as a TOML text, every entry under a comment that explains it.

    Raises UsageError if the plan holds a value that could not be read back.
    """
    document = tomlkit.document()
    _add_comments(document, _HEADING)
    values = write_entries(plan)
    for name, entry in _ENTRIES.items():
        document.add(tomlkit.nl())
        _add_entry(document, name, entry, values[name])
    return tomlkit.dumps(document)


def write_entries(plan: Plan) -> dict[str, object]:
    """Every entry as TOML has it, None for one that is left out.

    Raises UsageError if the plan holds a value that could not be read back.
    """
    return {name: _written(plan, name) for name in _ENTRIES}


def _written(plan: Plan, name: str) -> object:
    value = getattr(plan, name)
    if value is None:
        return None
    if name in _WRITERS:
        return _WRITERS[name]("plan", value)
    return _ENTRIES[name].read("plan", name, list(value) if isinstance(value, tuple) else value)


def _add_entry(document: tomlkit.TOMLDocument, name: str, entry: _Entry, value: object) -> None:
    if isinstance(value, dict):
        document.add(name, _commented_table(entry.comments, value))
        return
    _add_comments(document, entry.comments)
    if isinstance(value, list):
        _add_tables(document, name, value)
    elif value is None:
        document.add(tomlkit.comment(f"{name} = {_LEFT_OPEN[name]}"))
    else:
        document.add(name, tomlkit.item(value))


def _add_tables(document: tomlkit.TOMLDocument, name: str, values: list[dict[str, object]]) -> None:
    if not values:
        _add_comments(document, _EXAMPLES[name])
        return
    tables: AoT = tomlkit.aot()
    for value in values:
        tables.append(tomlkit.item(value))
    document.add(name, tables)


def _commented_table(comments: tuple[str, ...], values: Mapping[str, object]) -> Table:
    table = tomlkit.table()
    _add_comments(table, comments)
    for name in values:
        table.add(name, values[name])
    return table


def _add_comments(place: tomlkit.TOMLDocument | Table, comments: tuple[str, ...]) -> None:
    for comment in comments:
        place.add(tomlkit.comment(comment))
