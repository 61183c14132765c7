"""From a song to the piece of it."""

from collections.abc import Callable, Mapping
from dataclasses import replace
from functools import partial

from apoyando.arranging import arrange_song, transposition_to
from apoyando.model.arrangement import Arrangement
from apoyando.model.level import Level
from apoyando.model.plan import Plan
from apoyando.model.song import Song
from apoyando.pipeline.levels import find_level, make_ruler
from apoyando.pipeline.piece import Piece, write_outputs
from apoyando.pipeline.stopwatch import timed
from apoyando.pipeline.verdicts import judge
from apoyando.reading import read_planned_song
from apoyando.report import describe_piece, encode_report

Tell = Callable[[str | Piece], None]
"""Hears what is being done, in a few words, and is given the piece to look at while it is still worked at."""


def make_piece(
    data: bytes, file_name: str, plan: Plan, levels: Mapping[str, Level], *, is_timed: bool = False
) -> Piece:
    """From a song's file to everything that is made of it.

    With ``is_timed`` the report tells the seconds of the search, and is no longer the same
    from run to run. Raises SongError, UsageError; RefutedArrangementError is a bug.
    """
    piece = arrange_piece(data, file_name, plan, levels, is_timed=is_timed)
    return replace(piece, outputs=write_outputs(piece.arrangement, piece.plan, encode_report(piece.report)))


def arrange_piece(
    data: bytes,
    file_name: str,
    plan: Plan,
    levels: Mapping[str, Level],
    *,
    is_timed: bool = False,
    tell: Tell | None = None,
) -> Piece:
    """The piece arranged and proven, without its files: ``outputs`` is empty.

    ``tell`` hears which stage begins, and is given the piece as soon as there is one to look at,
    proven to be playable, with hard bars left as they are. Raises as ``make_piece`` does.
    """
    hear = tell or _hear_nothing
    level = find_level(plan, levels)
    hear("reading the song")
    song = read_planned_song(data, file_name, plan)
    hear("arranging" if plan.key else "choosing the key")
    ruler = make_ruler(plan, levels)
    collect = partial(_collect, song, plan, level)

    def show(sketch: Arrangement) -> None:
        hear(collect(sketch))

    arrangement, seconds = timed(lambda: arrange_song(song, plan, level, ruler, show if tell else None))
    hear("proofing")
    return collect(arrangement, seconds if is_timed else None)


def _hear_nothing(_: str | Piece) -> None:
    pass


def _collect(
    song: Song, plan: Plan, level: Level, arrangement: Arrangement, seconds: float | None = None
) -> Piece:
    """Raises RefutedArrangementError."""
    verdict = judge(arrangement, song, level, plan.hand_size)
    return Piece(
        song=song,
        plan=complete_plan(plan, song, arrangement),
        arrangement=arrangement,
        verdict=verdict,
        report=describe_piece(song, arrangement, verdict, seconds, plan.locks),
        outputs={},
    )


def complete_plan(plan: Plan, song: Song, arrangement: Arrangement) -> Plan:
    """The plan with what was left to the program: part, key, octave, capo, tuning and texture."""
    nearest = transposition_to(arrangement.key, song, octave=0)
    octave = (arrangement.transposition.semitones - nearest.semitones) // 12
    return replace(
        plan,
        key=str(arrangement.key.tonic),
        capo=arrangement.capo,
        tuning=arrangement.tuning.name,
        melody_octave=octave,
        part=song.melody_source.name if song.melody_source else plan.part,
        texture=arrangement.texture,
    )
