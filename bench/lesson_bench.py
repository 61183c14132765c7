"""Print the lesson sheets of a folder of songs: pages, words, seconds.

    python bench/lesson_bench.py [LEVEL] [FOLDER]

Every song (of the lead sheets beside the project) is arranged in its own key; the seconds are
those of the sheet alone, after the piece has been arranged and proven.
"""

import sys
from io import BytesIO
from pathlib import Path
from time import perf_counter

from pypdf import PdfReader

from apoyando.files import find_songs
from apoyando.model.plan import Plan
from apoyando.pipeline import arrange_piece, make_lesson
from apoyando.reading import load_default_levels, read_song

SONGS = Path(__file__).parents[2] / "shared" / "leadsheets"
LEVELS = load_default_levels()


def show(path: Path, level: str) -> None:
    data = path.read_bytes()
    plan = Plan(level=level, key=str(read_song(data, path.name).key.tonic))
    piece = arrange_piece(data, path.name, plan, LEVELS)
    start = perf_counter()
    lesson = make_lesson(piece, LEVELS)
    seconds = perf_counter() - start
    pages = len(PdfReader(BytesIO(lesson.pdf)).pages)
    again = make_lesson(piece, LEVELS, lesson.text, path.name) == lesson
    print(f"{path.stem:34} {pages} pages {len(lesson.text.split()):5} words {seconds:5.2f} s  again {again}")


def main() -> None:
    level, folder = [*sys.argv[1:], *("intermediate", str(SONGS))[len(sys.argv) - 1 :]][:2]
    for song in find_songs([Path(folder)]):
        show(song, level)


if __name__ == "__main__":
    main()
