"""``apoyando lesson``: the lesson sheet of a song, written anew or from a text that was changed."""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

import typer

from apoyando.cli.screen import Entry, name_files
from apoyando.files import printable_name, read_lesson_file, read_song_bytes, write_together
from apoyando.model.errors import UsageError
from apoyando.model.level import Level
from apoyando.model.plan import Plan
from apoyando.pipeline import LESSON_PDF, LESSON_TEXT, Lesson, arrange_piece, make_lesson

LESSON_FOLDER = "arranged"
"""Beside the song, with the pages that it belongs to."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LessonWish:
    """``text`` is the file of a changed text; ``is_anew``: a text that is there may be replaced."""

    out: Path | None
    text: Path | None
    is_anew: bool


@dataclass(frozen=True, slots=True)
class Printed:
    files: tuple[Path, ...]


def refuse_shared_text(songs: tuple[Path, ...], wish: LessonWish) -> None:
    """Raises UsageError where one text is given for several songs."""
    if wish.text and len(songs) > 1:
        raise UsageError(
            f"{wish.text} is the text of one lesson, and {len(songs)} songs are named. Name one."
        )


def print_lesson(song: Path, *, wish: LessonWish, plan: Plan, levels: Mapping[str, Level]) -> Printed:
    """Make the sheet and write it. A changed text is read and never written to."""
    text = None if wish.text is None else read_lesson_file(wish.text)
    piece = arrange_piece(read_song_bytes(song), printable_name(song), plan, levels)
    lesson = make_lesson(piece, levels, text, str(wish.text))
    contents = _place(song, wish, lesson)
    _refuse_lost_words(contents, wish)
    write_together(contents)
    return Printed(tuple(contents))


def _place(song: Path, wish: LessonWish, lesson: Lesson) -> Mapping[Path, bytes]:
    """What is to be written where; beside a given text only the PDF."""
    if wish.text:
        name = wish.text.name.removesuffix(wish.text.suffix).removesuffix(".lesson")
        return {(wish.out or wish.text.parent) / f"{name}{LESSON_PDF}": lesson.pdf}
    folder = wish.out or song.parent / LESSON_FOLDER
    contents = {LESSON_PDF: lesson.pdf, LESSON_TEXT: lesson.text.encode()}
    return {folder / f"{song.stem}{suffix}": content for suffix, content in contents.items()}


def _refuse_lost_words(contents: Mapping[Path, bytes], wish: LessonWish) -> None:
    """Raises UsageError where a text would be replaced that says something else."""
    for path, content in contents.items():
        is_text = path.name.endswith(LESSON_TEXT)
        if is_text and not wish.is_anew and path.exists() and read_lesson_file(path).encode() != content:
            raise UsageError(
                f"{path} is there already and says something else; it stays as it is. "
                f"Print it with --text {path}, or have it written anew with --anew."
            )


def describe(printed: Printed) -> Entry:
    return {"files": [str(path) for path in printed.files]}


def say(printed: Printed) -> None:
    first, *others = printed.files
    typer.echo(name_files(printed.files) if others else str(first))
