"""The command that makes sound to practise with, and its options."""

from functools import partial
from pathlib import Path
from typing import Annotated

import typer

from apoyando.cli import screen
from apoyando.cli.application import app, begin_helpers, work_through
from apoyando.cli.choices import choose_levels, decide
from apoyando.cli.command_line import number_between, path_for, whole_between
from apoyando.cli.options import (
    AsJson,
    KeyName,
    LevelName,
    LevelsFile,
    PlanFile,
    Songs,
)
from apoyando.cli.outcome import usage_errors_told
from apoyando.files import find_songs

PracticeFolder = Annotated[
    Path | None,
    typer.Option(
        "--out",
        metavar="DIR",
        parser=path_for("--out"),
        help='Where the folder of each song goes. Left out: "practice" beside each song.',
    ),
]
FormatName = Annotated[
    str, typer.Option("--format", metavar="FORMAT", help="The sound files: flac, ogg, mp3 or wav.")
]
MelodyOver = Annotated[
    float,
    typer.Option(
        "--melody-over",
        metavar="DB",
        parser=number_between("--melody-over", 0, 24),
        help="By how many dB the melody stands out, 0 to 24.",
    ),
]
Slow = Annotated[str, typer.Option("--slow", metavar="PERCENTS", help='The slow versions; "" for none.')]
LoopAt = Annotated[
    int,
    typer.Option(
        "--loop-at",
        metavar="PERCENT",
        parser=whole_between("--loop-at", 20, 200),
        help="How fast the hard bars go round, 20 to 200.",
    ),
]
Click = Annotated[bool, typer.Option("--click", help="Click every beat; the tempo is kept even.")]
CountIn = Annotated[bool, typer.Option("--count-in/--no-count-in", help="Count one bar before the music.")]
Even = Annotated[bool, typer.Option("--even", help="Leave the phrasing to you: all notes even.")]
PictureBars = Annotated[
    list[str] | None,
    typer.Option(
        "--picture", metavar="BAR", help="Draw how this bar is held and heard, as PNG; may be repeated."
    ),
]


@app.command()
def listen(
    songs: Songs,
    out: PracticeFolder = None,
    audio_format: FormatName = "flac",
    melody_over: MelodyOver = 6.0,
    slow: Slow = "50,60,75,90",
    loop_at: LoopAt = 60,
    click: Click = False,
    count_in: CountIn = True,
    even: Even = False,
    picture: PictureBars = None,
    key: KeyName = None,
    level: LevelName = None,
    levels: LevelsFile = None,
    plan: PlanFile = None,
    as_json: AsJson = False,
) -> None:
    """Make sound to practise with.

    SONG is a song or a folder of songs, as for arrange. For each a folder with the tuning, the
    melody alone, with its accompaniment, the accompaniment alone, slow versions, each hard bar
    again and again after the bar before it, a MIDI file of each, and a playlist NAME.m3u. Give
    the plan of the pages that are played from. Begin with the volume low.
    """
    with usage_errors_told():
        begin_helpers()
        from apoyando.cli.listening import choose_folders, describe, make_practice_set, say, wish_practice
        from apoyando.sound import PracticeWishes

        table = choose_levels(levels)
        decided = decide(plan, {"key": key, "level": level}, table)
        wishes = PracticeWishes(
            melody_over_db=melody_over,
            loop_percent=loop_at,
            has_count_in=count_in,
            has_clicks=click,
            is_phrased=not even,
        )
        wished = wish_practice(audio_format, slow, wishes)
        folders = choose_folders(find_songs(songs), out)
    work = partial(
        make_practice_set,
        folders=folders,
        plan=decided,
        levels=table,
        wishes=wished,
        pictures=tuple(dict.fromkeys(picture or ())),
    )
    work_through(
        tuple(folders), work, "rendering", describe if as_json else None, say, progress=screen.no_progress
    )
