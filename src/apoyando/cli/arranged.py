"""``apoyando arrange`` and ``apoyando finger``: one piece made and written, and how that is told."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path

from apoyando.cli.screen import Entry, name_files
from apoyando.cli.telling import tell
from apoyando.files import printable_name, read_song_bytes, write_together
from apoyando.pipeline import Piece


@dataclass(frozen=True, slots=True)
class Arranged:
    piece: Piece
    files: tuple[Path, ...]


def make_and_write(
    song: Path, *, targets: Mapping[Path, Mapping[str, Path]], make: Callable[[bytes, str], Piece]
) -> Arranged:
    """``make`` takes the song's bytes and its name."""
    piece = make(read_song_bytes(song), printable_name(song))
    files = targets[song]
    write_together({path: piece.outputs[suffix] for suffix, path in files.items()})
    return Arranged(piece, tuple(files.values()))


def describe(arranged: Arranged) -> Entry:
    return {"files": [str(path) for path in arranged.files], "report": arranged.piece.report}


def say(arranged: Arranged) -> None:
    """One line: what was written, in which key, and all that was given up on the way."""
    arrangement, song = arranged.piece.arrangement, arranged.piece.song
    counts = {
        "change to the melody": len(arrangement.melody_changes),
        "place that gave way": sum(each.step.is_given_up for each in arrangement.relaxations),
        "hold given up": len(arrangement.given_up_holds),
        "remark on the source": len(song.remarks),
    }
    told = [_count(number, what) for what, number in counts.items() if number]
    tell("; ".join([f"{name_files(arranged.files)}: {_name_key(arranged)}", *told]))


def _name_key(arranged: Arranged) -> str:
    """The key of the page, and the one that is heard where a capo makes it another."""
    arrangement = arranged.piece.arrangement
    if not arrangement.capo:
        return str(arrangement.key)
    return f"{arrangement.key}, capo {arrangement.capo}: sounds in {arranged.piece.report['sounding_key']}"


def _count(number: int, what: str) -> str:
    noun, *rest = what.split(" ", 1)
    return " ".join([str(number), noun if number == 1 else f"{noun}s", *rest])
