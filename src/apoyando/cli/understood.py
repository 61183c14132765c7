"""``apoyando read``: what was understood of one song, bar by bar."""

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import typer

from apoyando.cli.screen import show_table
from apoyando.cli.telling import tell
from apoyando.files import printable_name, read_song_bytes
from apoyando.model.plan import Plan
from apoyando.reading import read_planned_song
from apoyando.report import describe_song

Told = dict[str, Any]
"""What ``describe_song`` gives, as JSON would carry it."""


def understand(song: Path, *, plan: Plan) -> Told:
    data, name = read_song_bytes(song), printable_name(song)
    return describe_song(read_planned_song(data, name, plan))


def describe(told: Told) -> Told:
    return told


def say(told: Told) -> None:
    title = " / ".join(str(told[field]) for field in ("title", "composer", "key", "meter") if told[field])
    source = told["melody_from"]
    show_table(title, ("bar", "chords", "melody (lengths in quarters)", "form"), _rows(told))
    if source:
        tell(_source(source))
    if told["chords_found"]:
        typer.echo("Chords in brackets are found in the notes, not written.")
    for remark in told["remarks"]:
        tell(f"bar {remark['bar']}: {remark['text']}" if remark["bar"] else remark["text"])


def _rows(told: Told) -> list[list[str]]:
    return [
        [
            bar["bar"],
            "  ".join(_chord(each) for each in bar["chords"]),
            "  ".join(_note(each) for each in bar["melody"]),
            "; ".join(_form(before, bar)),
        ]
        for before, bar in zip([told, *told["bars"]], told["bars"], strict=False)
    ]


def _source(source: Mapping[str, Any]) -> str:
    """Which part is the melody, and how to have another."""
    told = f"The melody is {source['part']}: {source['reason']}."
    if len(source["choices"]) == 1:
        return told
    listed = ", ".join(f"{place} {name}" for place, name in enumerate(source["choices"], 1))
    return f"{told} To have another, name it or its number with --part: {listed}."


def _chord(chord: Mapping[str, Any]) -> str:
    name = _MARKED.get(chord["origin"], "{}").format(chord["chord"])
    if chord["from_before"]:
        return f"({name})"
    return name if chord["beat"] == "1" else f"{name} @{chord['beat']}"


_MARKED = {"found": "[{}]", "player": "{} (yours)"}
"""Brackets are an editor's, as in printed music (common practice, no source)."""


def _note(note: Mapping[str, Any]) -> str:
    name = "rest" if note["pitch"] is None else note["pitch"]
    return f"({name} {note['quarters']})" if note["from_before"] else f"{name} {note['quarters']}"


def _form(before: Mapping[str, Any], bar: Mapping[str, Any]) -> list[str]:
    changes = [f"{what} {bar[what]}" for what in ("key", "meter") if bar[what] != before[what]]
    section = [f"section {bar['section']}"] if bar["section"] else []
    return [*section, *changes, *bar["form"]]
