"""``apoyando listen``: the practice set of a song, rendered and written whole or not at all."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import chain
from pathlib import Path

from apoyando.cli.screen import Entry, progress
from apoyando.cli.targets import choose_targets
from apoyando.cli.telling import tell
from apoyando.files import printable_name, read_song_bytes, write_as_made
from apoyando.model.errors import UsageError
from apoyando.model.level import Level
from apoyando.model.plan import Plan
from apoyando.pipeline import arrange_piece, picture_bar, plan_practice_set
from apoyando.sound import (
    AudioFormat,
    PracticeWishes,
    Track,
    name_bar_file,
    render_track,
    write_playlist,
    write_track_midi,
)

PRACTICE_FOLDER = "practice"
"""Beside the song; each song has a folder of its own in it."""
PLAYLIST = ".m3u"
SLOWEST_PERCENT, FASTEST_PERCENT = 20, 200


@dataclass(frozen=True, slots=True)
class PracticeSet:
    folder: Path
    tracks: tuple[Track, ...]
    files: tuple[Path, ...]


def wish_practice(audio_format: str, slow: str, wishes: PracticeWishes) -> PracticeWishes:
    """The wishes with the format and the speeds that were typed. Raises UsageError."""
    if audio_format.lower() not in set(AudioFormat):
        raise UsageError(f"--format: there is no {audio_format}. Choose {', '.join(AudioFormat)}.")
    return replace(wishes, audio_format=AudioFormat(audio_format.lower()), slow_percent=_read_percents(slow))


def _read_percents(text: str) -> tuple[int, ...]:
    words = [word.strip().removesuffix("%").strip() for word in text.split(",") if word.strip()]
    if all(word.isdecimal() and SLOWEST_PERCENT <= int(word) <= FASTEST_PERCENT for word in words):
        return tuple(sorted({int(word) for word in words}))
    raise UsageError(
        f"--slow: {text} are no speeds. Write percents from {SLOWEST_PERCENT} to {FASTEST_PERCENT} "
        "with commas between, like 50,75."
    )


def choose_folders(songs: Sequence[Path], out: Path | None) -> Mapping[Path, Path]:
    """For each song its own folder. Raises UsageError where two would have the same."""
    targets = choose_targets(songs, out, (PLAYLIST,), folder=PRACTICE_FOLDER)
    return {song: files[PLAYLIST].parent / song.stem for song, files in targets.items()}


def make_practice_set(
    song: Path,
    *,
    folders: Mapping[Path, Path],
    plan: Plan,
    levels: Mapping[str, Level],
    wishes: PracticeWishes,
    pictures: Sequence[str],
) -> PracticeSet:
    """Arrange the song, then render and write track by track."""
    with progress([song], "arranging") as begin:
        begin(song)
        piece = arrange_piece(read_song_bytes(song), printable_name(song), plan, levels)
        drawn = {f"{name_bar_file(bar)}.png": picture_bar(piece, bar) for bar in pictures}
        tracks = plan_practice_set(piece, wishes)
    folder = folders[song]
    playlist = f"{song.stem}{PLAYLIST}"
    contents = chain(
        _make_files(tracks, wishes),
        drawn.items(),
        [(playlist, write_playlist(tracks, wishes))],
    )
    written = write_as_made((folder / name, content) for name, content in contents)
    return PracticeSet(folder, tracks, written)


def _make_files(tracks: Sequence[Track], wishes: PracticeWishes) -> Iterator[tuple[str, bytes]]:
    """The sound of each track and its MIDI file, by their names."""
    names = [Path(f"{track.stem}{wishes.audio_format.suffix}") for track in tracks]
    with progress(names, "rendering") as begin:
        for track, name in zip(tracks, names, strict=True):
            begin(name)
            yield name.name, render_track(track, wishes)
            yield f"{track.stem}.mid", write_track_midi(track)


def describe(practice: PracticeSet) -> Entry:
    return {
        "folder": str(practice.folder),
        "files": [str(path) for path in practice.files],
        "tracks": [
            {"number": track.number, "title": track.title, "percent": track.percent}
            for track in practice.tracks
        ],
    }


def say(practice: PracticeSet) -> None:
    """One line: the playlist, and how much it plays."""
    playlist = next(path for path in practice.files if path.suffix == PLAYLIST)
    seconds = sum(track.cue_sheet.duration_s for track in practice.tracks)
    tell(f"{playlist}: {len(practice.tracks)} tracks, {seconds / 60:.0f} minutes")
