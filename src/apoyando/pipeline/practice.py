"""What a piece is practised with: the lesson sheet, the practice set, the picture of a bar."""

from collections.abc import Mapping
from dataclasses import dataclass

from apoyando.engraving import engrave_lesson, write_png
from apoyando.model.bar_numbers import find_bar
from apoyando.model.level import Level
from apoyando.pipeline.levels import find_level
from apoyando.pipeline.piece import Piece
from apoyando.sound import PracticeWishes, Track, draw_bar_sound, plan_practice
from apoyando.teaching import (
    Studied,
    choose_hard_bars,
    read_lesson_text,
    write_lesson,
    write_lesson_text,
)

LESSON_PDF, LESSON_TEXT = ".lesson.pdf", ".lesson.md"


@dataclass(frozen=True, slots=True)
class Lesson:
    """A lesson sheet: the text that a teacher can change, and the PDF that is made of it."""

    text: str
    pdf: bytes


def make_lesson(
    piece: Piece, levels: Mapping[str, Level], text: str | None = None, text_name: str = ""
) -> Lesson:
    """The lesson sheet of a piece; of ``text`` where a teacher has changed it (``text_name`` is its file's).

    Raises UsageError for a text that cannot be meant.
    """
    arrangement = piece.arrangement
    if text is None:
        blocks = write_lesson(study(piece, levels))
    else:
        blocks = read_lesson_text(text, text_name, arrangement)
    pdf = engrave_lesson(blocks, arrangement, piece.plan.page)
    return Lesson(write_lesson_text(blocks, arrangement.bars), pdf)


def study(piece: Piece, levels: Mapping[str, Level]) -> Studied:
    """What a lesson sheet is written from."""
    verdict = piece.verdict
    return Studied(
        arrangement=piece.arrangement,
        level=find_level(piece.plan, levels),
        hand_size=piece.plan.hand_size,
        difficulties=verdict.difficulties,
        rings=verdict.rings,
        leading=verdict.voice_leading,
        beyond_level=tuple(finding.sentence for finding in verdict.over_level),
    )


def plan_practice_set(piece: Piece, wishes: PracticeWishes) -> tuple[Track, ...]:
    """The tracks to practise a piece with; its hard bars go round."""
    hard = choose_hard_bars(piece.verdict.difficulties)
    return plan_practice(piece.arrangement, [bar.index for bar in hard], wishes)


def picture_bar(piece: Piece, number: str) -> bytes:
    """How a bar is held and heard, as PNG. Raises UsageError where no bar, or more than one, has the number."""
    bar = find_bar(piece.arrangement.bars, number)
    return write_png(draw_bar_sound(piece.arrangement, bar.index))
