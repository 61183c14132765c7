"""The songs that the benches measure, and which of them a command line asks for.

The lead sheets that lie beside the project in ``shared/leadsheets``, the examples, the lead sheets of music21's
corpus, and a fixed choice of tunes from its ABC collections. These have no chords;
``tests/references/plain_harmony.py`` gives them some.
"""

import argparse
import sys
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

from music21 import common

ROOT = Path(__file__).parents[1]
sys.path.insert(0, str(ROOT / "tests"))

from apoyando.model.song import Song  # noqa: E402
from apoyando.reading import read_song  # noqa: E402
from apoyando.reading.abc.text import decode_abc  # noqa: E402
from apoyando.reading.abc.tune import draft_tune  # noqa: E402
from apoyando.reading.abc.tunebook import split_tunes  # noqa: E402
from apoyando.reading.assembly import assemble_melody  # noqa: E402
from references.plain_harmony import harmonise  # noqa: E402 - found there

CORPUS = Path(str(common.getCorpusFilePath()))
LEAD_SHEETS = ROOT.parent / "shared" / "leadsheets"
COLLECTIONS = {
    "essenFolksong": (1, 40),
    "airdsAirs": (1, 60),
    "oneills1850": (1, 80),
    "miscFolk": (1, 15),
    "ryansMammoth": (50, 1),
}
"""Of each collection every so many-th file, and in it every so many-th tune."""
QUICK_STEP = 5


@dataclass(frozen=True)
class Case:
    """A song to measure. ``group`` is the row of the table that it counts in."""

    group: str
    name: str
    song: Song


def gather_cases(*, is_quick: bool) -> list[Case]:
    sheets = [*sorted(LEAD_SHEETS.glob("*.mxl")), *sorted((CORPUS / "leadSheet").glob("*.mxl"))]
    examples = sorted(path for path in (ROOT / "examples").iterdir() if path.suffix != ".md")
    cases = [
        Case("lead sheets", path.stem, read_song(path.read_bytes(), path.name)) for path in sheets + examples
    ]
    tunes = [case for collection in COLLECTIONS for case in tunes_of(collection)]
    return cases + tunes[:: QUICK_STEP if is_quick else 1]


def tunes_of(collection: str) -> Iterator[Case]:
    file_step, tune_step = COLLECTIONS[collection]
    for path in sorted((CORPUS / collection).glob("*.abc"))[::file_step]:
        tunes = split_tunes(decode_abc(path.read_bytes())[0])
        for number in range(0, len(tunes), tune_step):
            song = assemble_melody(draft_tune(tunes[number], path.name), path.name)
            yield Case(collection, f"{path.stem} {number + 1}", harmonise(song))


def add_only(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--only", default="", help="songs whose group or name holds this text")


def choose_only(cases: Iterable[Case], text: str) -> list[Case]:
    return [case for case in cases if text in f"{case.group} {case.name}"]
