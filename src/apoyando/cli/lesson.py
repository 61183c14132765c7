"""``apoyando lesson``: the lesson sheet of a song, written anew or from a text that was changed."""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from apoyando.cli.screen import Entry, name_files
from apoyando.cli.targets import choose_targets
from apoyando.cli.telling import tell
from apoyando.files import printable_name, read_lesson_file, read_song_bytes, write_together
from apoyando.model.errors import UsageError
from apoyando.model.level import Level
from apoyando.model.plan import Plan
from apoyando.pipeline import LESSON_PDF, LESSON_TEXT, arrange_piece, make_lesson


@dataclass(frozen=True, slots=True, kw_only=True)
class LessonWish:
    """``text`` is the file of a changed text; ``is_anew``: a text that is there may be replaced."""

    out: Path | None
    text: Path | None
    is_anew: bool


@dataclass(frozen=True, slots=True)
class Printed:
    files: tuple[Path, ...]


def choose_sheets(songs: tuple[Path, ...], wish: LessonWish) -> Mapping[Path, Mapping[str, Path]]:
    """For each song its files by suffix; beside a given text only the PDF.

    Raises UsageError where one text is given for several songs, and as ``choose_targets`` does.
    """
    if not wish.text:
        return choose_targets(songs, wish.out, (LESSON_PDF, LESSON_TEXT))
    if len(songs) > 1:
        raise UsageError(
            f"{wish.text} is the text of one lesson, and {len(songs)} songs are named. Name one."
        )
    name = wish.text.name.removesuffix(wish.text.suffix).removesuffix(".lesson")
    sheet = (wish.out or wish.text.parent) / f"{name}{LESSON_PDF}"
    return {song: {LESSON_PDF: sheet} for song in songs}


def print_lesson(
    song: Path,
    *,
    targets: Mapping[Path, Mapping[str, Path]],
    wish: LessonWish,
    plan: Plan,
    levels: Mapping[str, Level],
) -> Printed:
    """Make the sheet and write it. A changed text is read and never written to."""
    text = None if wish.text is None else read_lesson_file(wish.text)
    piece = arrange_piece(read_song_bytes(song), printable_name(song), plan, levels)
    lesson = make_lesson(piece, levels, text, str(wish.text))
    made = {LESSON_PDF: lesson.pdf, LESSON_TEXT: lesson.text.encode()}
    contents = {path: made[suffix] for suffix, path in targets[song].items()}
    _refuse_lost_words(contents, wish)
    write_together(contents)
    return Printed(tuple(contents))


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
    tell(name_files(printed.files) if others else str(first))
