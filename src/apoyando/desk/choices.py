"""The choices of the page: which controls there are, and what a control that was moved means for the plan."""

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass
from itertools import zip_longest

from starlette.datastructures import FormData

from apoyando.desk.tasks import Drawn, Levels
from apoyando.model.instrument import TUNINGS
from apoyando.model.plan import ENDINGS, HIGHEST_CAPO, INTRODUCTIONS, TEXTURES, Melody, Plan
from apoyando.model.sheet import Marking, Paper, Sheet, Staves
from apoyando.model.song import Song
from apoyando.reading import change_plan, write_sheet

PAGE = "page."
"""Before the entries of the plan's table of that name."""
_STAFF_SIZES = ("0", "6", "6.5", "7", "8", "9", "10", "12")
_CAN_BE_OPEN = ("melody_octave", "minutes")
_ENTRIES = (
    *("key", "sounding", "capo", "tuning", "level", "hand_size", "texture", "melody", "melody_octave"),
    *("introduction", "ending", "minutes", "spell_out", "same_fingering", "part"),
)
_OCTAVES = ("", "-2", "-1", "0", "1", "2")


@dataclass(frozen=True, slots=True)
class Control:
    """One choice: the entry of the plan, what stands beside it, and what can be chosen.

    ``values`` is empty for a number or a flag; ``hint`` says more in a line.
    """

    entry: str
    label: str
    value: str
    values: tuple[str, ...] = ()
    hint: str = ""


@dataclass(frozen=True, slots=True)
class Group:
    name: str
    controls: tuple[Control, ...]


def list_groups(plan: Plan, drawn: Drawn | None, levels: Levels) -> tuple[Group, ...]:
    """All controls as the plan has them; keys and parts are known once the piece is drawn."""
    keys = ("", *(drawn.keys if drawn else ()))
    capos = tuple(str(fret) for fret in range(HIGHEST_CAPO + 1))
    return (
        Group(
            "Hand",
            (
                _choose(plan, "level", "Level", tuple(levels)),
                Control("hand_size", "Size of the hand", f"{plan.hand_size:g}", hint="1 as the level has it"),
            ),
        ),
        Group(
            "Key",
            (
                _choose(plan, "key", "Key of the page", keys),
                _choose(plan, "capo", "Capo at fret", capos),
                _choose(plan, "tuning", "Tuning", (*TUNINGS, "")),
                _choose(plan, "sounding", "Must sound in", keys),
            ),
        ),
        Group(
            "Tune",
            (
                *_choose_part(plan, drawn),
                _choose(plan, "melody_octave", "Octave", _OCTAVES),
                _choose(plan, "melody", "Rhythm", tuple(Melody)),
            ),
        ),
        Group("Accompaniment", (_choose(plan, "texture", "Texture", ("", *TEXTURES)),)),
        Group(
            "Form",
            (
                _choose(plan, "introduction", "Introduction", INTRODUCTIONS),
                _choose(plan, "ending", "Ending", ENDINGS),
                Control("minutes", "Minutes wanted", f"{plan.minutes:g}" if plan.minutes else ""),
                Control("spell_out", "Repeats written out", _flag(is_set=plan.spell_out)),
            ),
        ),
        Group("Paper and print", _list_page(write_sheet("plan", plan.page))),
    )


def _list_page(table: Mapping[str, object]) -> tuple[Control, ...]:
    """How it is put on paper; ``table`` as a plan file has it."""

    def choose(name: str, label: str, values: Sequence[str]) -> Control:
        value = _plain(table[name])
        return Control(f"{PAGE}{name}", label, value, tuple(dict.fromkeys((*values, value))))

    def flag(name: str, label: str) -> Control:
        return Control(f"{PAGE}{name}", label, _flag(is_set=table[name] is True))

    return (
        choose("staff", "Size of the staff", _STAFF_SIZES),
        choose("marking", "Fingering printed", tuple(Marking)),
        choose("staves", "Written as", tuple(Staves)),
        flag("lyrics", "Words"),
        flag("chord_symbols", "Chord symbols"),
        flag("chord_diagrams", "Pictures of the shapes"),
        flag("dynamics", "Dynamics"),
        flag("hold_lines", "Lines for what is held"),
        choose("paper", "Paper", tuple(Paper)),
        Control(f"{PAGE}margin", "Margins", _plain(table["margin"]), hint="millimetres"),
    )


def _plain(value: object) -> str:
    return f"{value:g}" if isinstance(value, float) else str(value)


def _choose(plan: Plan, entry: str, label: str, values: Sequence[str]) -> Control:
    """A choice among values; what the plan has is among them whatever it is."""
    found = getattr(plan, entry)
    value = "" if found is None else str(found)
    return Control(entry, label, value, tuple(dict.fromkeys((*values, value))))


def _choose_part(plan: Plan, drawn: Drawn | None) -> tuple[Control, ...]:
    """Only where the song has several parts."""
    song = drawn.piece.song if drawn else None
    source = song.melody_source if isinstance(song, Song) else None
    return (_choose(plan, "part", "Part that is the tune", ("", *source.choices)),) if source else ()


def read_choices(form: FormData) -> Mapping[str, object]:
    """The plan entries that a form decides, as a plan file would have them; None for one left open.

    Text that is no number is handed on as it is: who reads the plan says what would be right.
    """
    changes = {name: _read_value(name, str(form[name])) for name in _ENTRIES if name in form}
    page = {
        name: _read_value(f"{PAGE}{name}", str(form[f"{PAGE}{name}"]))
        for name in write_sheet("plan", Sheet())
        if f"{PAGE}{name}" in form
    }
    return {
        **changes,
        **({"sections": _read_sections(form)} if "sections" in form else {}),
        **({"page": page} if page else {}),
    }


def apply_choices(plan: Plan, changes: Mapping[str, object], levels: Collection[str]) -> Plan:
    """The plan with what a form decides; of the page what the form does not name stays. Raises UsageError."""
    page = changes.get("page")
    if isinstance(page, Mapping):
        changes = {**changes, "page": {**write_sheet("plan", plan.page), **page}}
    return change_plan(plan, changes, "your choice", levels)


def _read_value(name: str, text: str) -> object:
    if not text.strip() and name in _CAN_BE_OPEN:
        return None
    try:
        return _READERS.get(name, str)(text.strip())
    except ValueError:
        return text


def _read_decimal(text: str) -> float:
    return float(text.replace(",", "."))


def _read_flag(text: str) -> bool:
    return text == _flag(is_set=True)


_READERS: Mapping[str, Callable[[str], object]] = {
    "capo": int,
    "melody_octave": int,
    "hand_size": _read_decimal,
    "minutes": _read_decimal,
    "spell_out": _read_flag,
    "same_fingering": _read_flag,
    "page.staff": _read_decimal,
    "page.margin": _read_decimal,
    **{
        f"page.{name}": _read_flag
        for name in ("lyrics", "chord_symbols", "chord_diagrams", "dynamics", "hold_lines")
    },
}


def _flag(*, is_set: bool) -> str:
    return "true" if is_set else "false"


def _read_sections(form: FormData) -> list[dict[str, object]]:
    """Rows of bar, to bar and texture; a row without a bar is one that was taken out."""
    columns = (form.getlist(f"section_{name}") for name in ("bar", "to_bar", "texture"))
    rows = (tuple(str(cell).strip() for cell in row) for row in zip_longest(*columns, fillvalue=""))
    return [
        {"bar": bar, **({"to_bar": to_bar} if to_bar else {}), "texture": texture}
        for bar, to_bar, texture in rows
        if bar
    ]
