"""The whole way on one page: read, arrange and finger, prove, measure, write.

    bytes ─reading→ Song ─arranging→ Arrangement ─proofing→ Certificate
                                          └─engraving, sound, report→ bytes by suffix
                                          └─teaching→ Block ─engraving→ Lesson

    bytes ─reading→ Score ─arranging→ Fingered ─proofing→ Certificate, and on as above

Nothing leaves here that has not been certified.
"""

from apoyando.pipeline.choices import (
    compare_song_keys,
    name_keys,
    settle_setup,
    weigh_positions_of_bar,
    weigh_ways_of_note,
)
from apoyando.pipeline.levels import make_ruler
from apoyando.pipeline.piece import MIDI, MUSICXML, OUTPUT_SUFFIXES, PDF, PLAN, REPORT, Piece, write_outputs
from apoyando.pipeline.practice import (
    LESSON_PDF,
    LESSON_TEXT,
    Lesson,
    make_lesson,
    picture_bar,
    plan_practice_set,
    study,
)
from apoyando.pipeline.scores import Wishes, finger_piece
from apoyando.pipeline.songs import arrange_piece, make_piece
from apoyando.pipeline.verdicts import RefutedArrangementError, judge

__all__ = [
    "LESSON_PDF",
    "LESSON_TEXT",
    "MIDI",
    "MUSICXML",
    "OUTPUT_SUFFIXES",
    "PDF",
    "PLAN",
    "REPORT",
    "Lesson",
    "Piece",
    "RefutedArrangementError",
    "Wishes",
    "arrange_piece",
    "compare_song_keys",
    "finger_piece",
    "judge",
    "make_lesson",
    "make_piece",
    "make_ruler",
    "name_keys",
    "picture_bar",
    "plan_practice_set",
    "settle_setup",
    "study",
    "weigh_positions_of_bar",
    "weigh_ways_of_note",
    "write_outputs",
]
