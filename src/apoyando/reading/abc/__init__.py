"""ABC 2.1 (https://abcnotation.com/wiki/abc:standard:v2.1), read by the standard's sections."""

from collections.abc import Iterator

from apoyando.model.errors import Problem, UnreadableSongError
from apoyando.reading.abc.text import decode_abc
from apoyando.reading.abc.tune import draft_tune
from apoyando.reading.abc.tunebook import split_tunes
from apoyando.reading.draft import Draft

__all__ = ["HOW_TO_WRITE_CHORDS", "count_tunes", "draft_tunes"]

HOW_TO_WRITE_CHORDS = (
    'Write each chord in quotation marks before the note where it begins, as "Am" A2 or "G7" B2.'
)
LARGEST_FILE_BYTES = 5_000_000
"""A tunebook of two thousand tunes has one."""

LARGEST_TUNE_LETTERS = 200_000


def count_tunes(data: bytes) -> int:
    return len(split_tunes(decode_abc(data)[0]))


def draft_tunes(data: bytes, file_name: str) -> Iterator[Draft]:
    """The drafts of a file's tunes one after the other. Raises UnreadableSongError at the tune that is wrong."""
    if len(data) > LARGEST_FILE_BYTES:
        problem = Problem("", "The file is too large for ABC.", "Save a shorter piece.")
        raise UnreadableSongError(file_name, (problem,))
    text, letters_guessed = decode_abc(data)
    tunes = split_tunes(text)
    if not tunes:
        remedy = (
            "A tune in ABC begins with X:1 and T: (title) lines, then M:, L: and K: (key), then the notes."
        )
        raise UnreadableSongError(file_name, (Problem("", "There is no ABC tune in the file.", remedy),))
    for tune in tunes:
        if sum(len(line.text) for line in tune.body) > LARGEST_TUNE_LETTERS:
            place = f"line {tune.body[0].number}"
            problem = Problem(place, "The tune is absurdly long.", "Save a shorter piece.")
            raise UnreadableSongError(file_name, (problem,))
        yield draft_tune(tune, file_name, letters_guessed=letters_guessed)
