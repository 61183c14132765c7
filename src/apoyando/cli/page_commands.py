"""The commands that put a piece on paper."""

from functools import partial
from pathlib import Path
from typing import Annotated

import typer

from apoyando.cli.application import app, begin_helpers, work_through
from apoyando.cli.choices import choose_levels, choose_page, decide
from apoyando.cli.command_line import path_for, whole_between
from apoyando.cli.options import (
    AsJson,
    CapoFret,
    Ending,
    Introduction,
    KeyName,
    LevelName,
    LevelsFile,
    MelodyName,
    MelodyPart,
    Minutes,
    PaperName,
    PlanFile,
    Songs,
    Sounding,
    SpellOut,
    StaffHeight,
    TextureName,
    TuningName,
)
from apoyando.cli.outcome import usage_errors_told
from apoyando.files import find_songs

__all__ = ["app"]

COARSEST, FINEST = 30, 1200
MOST_SYSTEMS = 1000
"""More lines than any piece has."""

EngravedFolder = Annotated[
    Path | None,
    typer.Option(
        "--out",
        metavar="DIR",
        parser=path_for("--out"),
        help='Where the results go. Left out: "engraved" beside each song.',
    ),
]
Format = Annotated[
    str | None,
    typer.Option("--format", metavar="FORMAT", help="pdf, musicxml, svg or png. [pdf; png for a cutting]"),
]
SystemNumber = Annotated[
    int | None,
    typer.Option(
        "--system",
        metavar="NUMBER",
        parser=whole_between("--system", 1, MOST_SYSTEMS),
        help="Only this line of the page, cut out.",
    ),
]
BarRange = Annotated[
    str | None, typer.Option("--bars", metavar="FROM-TO", help="Only these bars, cut out: 9-12, or 9.")
]
VariantName = Annotated[
    str | None,
    typer.Option(
        "--variant",
        metavar="VARIANT",
        help="score; melody: in large print; accompaniment; or holds: what stays down. [score]",
    ),
]
Resolution = Annotated[
    int,
    typer.Option(
        "--resolution",
        metavar="DPI",
        parser=whole_between("--resolution", COARSEST, FINEST),
        help=f"How fine a png is, {COARSEST} to {FINEST}. [300]",
        show_default=False,
    ),
]
Margin = Annotated[str | None, typer.Option("--margin", metavar="MM", help="The margins. [15]")]
MarkingName = Annotated[
    str | None, typer.Option("--marking", metavar="HOW", help="clean, normal or full. [normal]")
]
StavesName = Annotated[
    str | None,
    typer.Option(
        "--staves", metavar="STAVES", help="notation, notation-and-tablature or tablature. [notation]"
    ),
]


@app.command()
def engrave(
    songs: Songs,
    out: EngravedFolder = None,
    variant: VariantName = None,
    picture: Format = None,
    system: SystemNumber = None,
    bars: BarRange = None,
    resolution: Resolution = 300,
    paper: PaperName = None,
    staff: StaffHeight = None,
    margin: Margin = None,
    marking: MarkingName = None,
    staves: StavesName = None,
    key: KeyName = None,
    sounding: Sounding = None,
    level: LevelName = None,
    levels: LevelsFile = None,
    texture: TextureName = None,
    melody: MelodyName = None,
    tuning: TuningName = None,
    capo: CapoFret = None,
    part: MelodyPart = None,
    introduction: Introduction = None,
    ending: Ending = None,
    minutes: Minutes = None,
    spell_out: SpellOut = False,
    plan: PlanFile = None,
    as_json: AsJson = False,
) -> None:
    """Engrave a piece on other paper, or a part of it as a picture.

    SONG is a song or a folder of songs, as for arrange; the piece is the one that arrange makes
    with the same plan and options. Writes NAME.pdf or NAME.musicxml; as svg or png NAME.page-1.svg
    and so on, or for a cutting NAME.system-2.png or NAME.bars-9-12.png; NAME.melody.pdf for the melody.
    """
    with usage_errors_told():
        begin_helpers()
        from apoyando.cli.engraved import (
            choose_picture_targets,
            describe,
            engrave_and_write,
            make_wish,
            say,
        )

        table = choose_levels(levels)
        choices = {
            "key": key,
            "sounding": sounding,
            "level": level,
            "texture": texture,
            "melody": melody,
            "part": part,
            "tuning": tuning,
            "capo": capo,
            "introduction": introduction,
            "ending": ending,
            "minutes": minutes,
            "spell_out": spell_out or None,
        }
        page = {"paper": paper, "staff": staff, "margin": margin, "marking": marking, "staves": staves}
        decided = choose_page(decide(plan, choices, table), page)
        wish = make_wish(system, bars, picture, resolution, variant)
        targets = choose_picture_targets(find_songs(songs), out, wish)
    work = partial(engrave_and_write, targets=targets, wish=wish, plan=decided, levels=table)
    work_through(tuple(targets), work, "engraving", describe if as_json else None, say)
