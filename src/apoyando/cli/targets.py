"""Which files each song will become, settled before the first song is begun."""

from collections.abc import Iterable, Mapping
from pathlib import Path

from apoyando.files import real_path
from apoyando.model.errors import UsageError

DEFAULT_FOLDER = "arranged"
"""Beside the song: its own folder, so that no result is mistaken for a song next time."""
FINGERED_FOLDER = "fingered"
"""… and another one for scores that were only fingered."""


def choose_targets(
    songs: Iterable[Path],
    out: Path | None,
    suffixes: Iterable[str],
    plan_file: Path | None = None,
    folder: str = DEFAULT_FOLDER,
) -> Mapping[Path, Mapping[str, Path]]:
    """For each song its result files by suffix, in ``out`` or else in ``folder`` beside the song.

    The player's own plan file is never written to: where the written plan would replace it,
    it is left out. Raises UsageError where two songs would become the same files, or a
    result would replace a song.
    """
    given = tuple(songs)
    own_plan = _identity(plan_file) if plan_file else ""
    targets = {
        song: _targets_of(song, out or song.parent / folder, tuple(suffixes), own_plan) for song in given
    }
    _refuse_shared_targets(targets)
    _refuse_lost_songs(targets)
    return targets


def _targets_of(song: Path, folder: Path, suffixes: tuple[str, ...], own_plan: str) -> Mapping[str, Path]:
    files = {suffix: folder / f"{song.stem}{suffix}" for suffix in suffixes}
    return {suffix: path for suffix, path in files.items() if _identity(path) != own_plan}


def _refuse_shared_targets(targets: Mapping[Path, Mapping[str, Path]]) -> None:
    owners: dict[str, Path] = {}
    for song, files in targets.items():
        first = owners.setdefault(_identity(next(iter(files.values()))), song)
        if first is not song:
            raise UsageError(
                f"{first} and {song} would both be written to {next(iter(files.values()))}. "
                "Arrange them one at a time with different --out folders, or rename one."
            )


def _refuse_lost_songs(targets: Mapping[Path, Mapping[str, Path]]) -> None:
    songs = {_identity(song): song for song in targets}
    for files in targets.values():
        for target in files.values():
            if _identity(target) in songs:
                raise UsageError(
                    f"{songs[_identity(target)]} is a song and would be overwritten by the result. "
                    "Choose another folder with --out."
                )


def _identity(path: Path) -> str:
    """The same for every way to name a file, and for disks that do not tell upper from lower case."""
    return real_path(path).casefold()
