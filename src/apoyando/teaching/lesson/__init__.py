"""The lesson sheet: what a student is told of a piece, every sentence from a counted fact."""

from apoyando.teaching.lesson.facts import Studied
from apoyando.teaching.lesson.sheet import write_lesson
from apoyando.teaching.lesson.text import read_lesson_text, write_lesson_text

__all__ = ["Studied", "read_lesson_text", "write_lesson", "write_lesson_text"]
