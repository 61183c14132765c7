"""What the shelf shows of a song, read from the song's files."""

from dataclasses import dataclass, replace
from enum import StrEnum
from hashlib import sha256
from pathlib import Path

from apoyando.files import read_plan_text, read_song_bytes
from apoyando.model.errors import ApoyandoError
from apoyando.model.form import playing_minutes
from apoyando.model.plan import Plan
from apoyando.model.song import DEFAULT_TEMPO_QUARTERS_PER_MINUTE, Song
from apoyando.reading import read_plan, read_planned_song
from apoyando.repertoire.folders import PLAN, TAKEN_OFF, read_state, song_file


class State(StrEnum):
    """How far the work on a song has come: not yet played through, played through, ready for the day."""

    DRAFT = "draft"
    PROOFED = "proofed"
    READY = "ready"


STATES = tuple(State)


@dataclass(frozen=True, slots=True, kw_only=True)
class SongEntry:
    """One line of the shelf.

    ``id`` stands for the folder, whose name is ``folder``. ``key`` is that of the page once it is
    settled, else the song's. ``minutes`` is how long it lasts. ``trouble`` says why a song or a
    plan cannot be read, "" where both can.
    """

    id: str
    folder: str
    title: str
    composer: str = ""
    key: str = ""
    level: str = ""
    bars: int = 0
    minutes: float = 0.0
    state: State = State.DRAFT
    trouble: str = ""


def identify(folder: str) -> str:
    """The id of a song's folder: the same whenever the index is made anew."""
    return sha256(folder.encode(errors="surrogateescape")).hexdigest()[:16]


def identify_taken_off(folder: str) -> str:
    """The id of a song's folder among those that were taken off the shelf."""
    return identify(f"{TAKEN_OFF}/{folder}")


def describe_folder(folder: Path, levels: tuple[str, ...]) -> SongEntry:
    """The entry of a song's folder. What cannot be read is told in the entry, and never raised."""
    state = find_state(read_state(folder))
    plan, trouble = Plan(), ""
    try:
        plan = _read_plan_of(folder, levels)
    except ApoyandoError as error:
        trouble = str(error)
    entry = SongEntry(
        id=identify(folder.name),
        folder=folder.name,
        title=folder.name,
        level=plan.level,
        state=state,
        trouble=trouble,
    )
    return _with_song(entry, folder, plan)


def find_state(text: str) -> State:
    """The state that a player wrote; a draft where it is none of them."""
    word = text.strip().lower()
    return State(word) if word in STATES else State.DRAFT


def _read_plan_of(folder: Path, levels: tuple[str, ...]) -> Plan:
    if not (folder / PLAN).exists():
        return Plan()
    return read_plan(read_plan_text(folder / PLAN), PLAN, levels)


def _with_song(entry: SongEntry, folder: Path, plan: Plan) -> SongEntry:
    file = song_file(folder)
    try:
        song = read_planned_song(read_song_bytes(file), file.name, plan)
    except ApoyandoError as error:
        return replace(entry, trouble=entry.trouble or str(error))
    return replace(
        entry,
        title=song.title,
        composer=song.composer,
        key=f"{plan.key} {song.key.mode}" if plan.key else str(song.key),
        bars=len(song.bars),
        minutes=_minutes_of(song, plan),
    )


def _minutes_of(song: Song, plan: Plan) -> float:
    tempo = song.tempo_quarters_per_minute or DEFAULT_TEMPO_QUARTERS_PER_MINUTE
    return plan.minutes or round(float(playing_minutes(song.bars, tempo)), 2)
