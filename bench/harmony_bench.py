"""Measure how often the chords that are found are those that others name, and print the table.

    python bench/harmony_bench.py [FOLDER] [--pieces] [--arranged]

Chorales and madrigals are held against the Roman numerals in music21's corpus, lead sheets
(the folder beside the project) against their own chord symbols after they were written out
for piano. ``--pieces`` prints every piece. ``--arranged`` also takes away the chord symbols
from three of our own arrangements and finds them again; that is circular, for the
arranger writes what the finder looks for.
"""

import re
import sys
from collections.abc import Iterable, Iterator
from pathlib import Path
from time import perf_counter

sys.path.insert(0, str(Path(__file__).parents[1] / "tests"))

from apoyando.files import find_songs
from apoyando.model.harmony import HarmonySpan
from apoyando.model.plan import Plan
from apoyando.model.song import Song
from apoyando.model.time import Span
from apoyando.pipeline import make_piece
from apoyando.reading import load_default_levels, read_song
from apoyando.reading.harmony import find_chords
from references.roman_numerals import (
    CHORALES,
    MADRIGALS,
    NONE,
    TUNED_ON,
    Agreement,
    Piece,
    Reference,
    agree,
    read_chorale,
    read_madrigal,
)
from references.written_out import TEXTURES, write_out

SONGS = Path(__file__).parents[2] / "shared" / "leadsheets"
ARRANGED = 3
Measured = tuple[str, Agreement]


def measure_pieces(pieces: Iterable[Piece]) -> Iterator[Measured]:
    """Each piece as the door reads it."""
    for piece in pieces:
        song = read_song(piece.path.read_bytes(), piece.path.name)
        yield piece.name, agree(song.harmony, piece.references)


def measure_written_out(songs: Iterable[Song], texture: str) -> Iterator[Measured]:
    for song in songs:
        notes, tune = write_out(song, texture)
        found = find_chords(notes, song.bars, tune)
        ends = [*(chord.onset for chord in found[1:]), song.duration]
        spans = [HarmonySpan(Span(c.onset, end), c.chord) for c, end in zip(found, ends, strict=True)]
        yield song.title, agree(spans, symbols_of(song))


def measure_arranged(songs: Iterable[Song], paths: Iterable[Path]) -> Iterator[Measured]:
    for song, path in zip(songs, paths, strict=True):
        plan = Plan(key=str(song.key.tonic))
        made = make_piece(path.read_bytes(), path.name, plan, load_default_levels())
        page = made.outputs[".musicxml"]
        bare = re.sub(rb"<harmony\b.*?</harmony>", b"", page, flags=re.DOTALL)
        yield (
            song.title,
            agree(read_song(bare, "page.musicxml").harmony, symbols_of(read_song(page, "page.musicxml"))),
        )


def symbols_of(song: Song) -> tuple[Reference, ...]:
    """A sheet's own chords, those of kinds that nobody looks for by their triad."""
    return tuple(
        Reference(
            float(span.onset), float(span.offset), span.chord.root.pitch_class, triad_of(span.chord.kind)
        )
        for span in song.harmony
        if span.chord
    )


def triad_of(kind: str) -> str:
    for triad in ("suspended", "augmented"):
        if kind.startswith(triad):
            return triad
    if kind in ("diminished", "half-diminished", "diminished-seventh"):
        return "diminished"
    return "minor" if kind.startswith("minor") or kind == "major-minor" else "major"


def show(name: str, measured: Iterable[Measured], *, with_pieces: bool) -> None:
    start = perf_counter()
    rows = list(measured)
    if with_pieces:
        for piece, agreement in rows:
            show_row(f"  {piece}", 1, agreement)
    show_row(name, len(rows), sum((agreement for _, agreement in rows), NONE), perf_counter() - start)


def show_row(name: str, count: int, agreement: Agreement, seconds: float = 0.0) -> None:
    root, triad = agreement.root / agreement.total, agreement.triad / agreement.total
    print(f"{name[:46]:46} {count:5} {agreement.total:8.0f} {root:7.1%} {triad:7.1%} {seconds:7.1f}")


def main() -> None:
    words = [word for word in sys.argv[1:] if not word.startswith("-")]
    folder = Path(words[0]) if words else SONGS
    with_pieces = "--pieces" in sys.argv
    paths = find_songs([folder]) if folder.is_dir() else ()
    songs = [read_song(path.read_bytes(), path.name) for path in paths]
    print(f"{'by time':46} count quarters    root   triad seconds")
    kept_apart = [n for n in CHORALES if n not in TUNED_ON]
    show("chorales kept apart", measure_pieces(map(read_chorale, kept_apart)), with_pieces=with_pieces)
    show("chorales tuned on", measure_pieces(map(read_chorale, TUNED_ON)), with_pieces=with_pieces)
    show("madrigals", measure_pieces(map(read_madrigal, MADRIGALS)), with_pieces=with_pieces)
    for texture in TEXTURES if songs else ():
        show(f"lead sheets, {texture}", measure_written_out(songs, texture), with_pieces=with_pieces)
    if "--arranged" in sys.argv:
        show(
            "our own pages (circular)", measure_arranged(songs[:ARRANGED], paths[:ARRANGED]), with_pieces=True
        )


if __name__ == "__main__":
    main()
