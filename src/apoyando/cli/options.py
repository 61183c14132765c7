"""Options that several commands have; each says what it means once."""

from pathlib import Path
from typing import Annotated

import typer

from apoyando.cli.command_line import path_for
from apoyando.model.plan import TEXTURES

Songs = Annotated[
    list[Path],
    typer.Argument(metavar="SONG", parser=path_for("SONG"), hidden=True),
]
OutFolder = Annotated[
    Path | None,
    typer.Option(
        "--out",
        metavar="DIR",
        parser=path_for("--out"),
        help='Where the results go. Left out: "arranged" beside each song.',
    ),
]
KeyName = Annotated[
    str | None,
    typer.Option("--key", metavar="TONIC", help="G, F#, Bb ... Left out: the key that lies best."),
]
LevelName = Annotated[
    str | None,
    typer.Option("--level", metavar="LEVEL", help="early, intermediate or advanced. [intermediate]"),
]
LevelsFile = Annotated[
    Path | None,
    typer.Option(
        "--levels",
        metavar="FILE",
        parser=path_for("--levels"),
        help="Your own table of levels; the command levels writes one.",
    ),
]
TextureName = Annotated[
    str | None,
    typer.Option(
        "--texture",
        metavar="TEXTURE",
        help=f"The accompaniment: {', '.join(TEXTURES)}. Left out: what suits meter, tempo and level.",
    ),
]
Sounding = Annotated[
    str | None,
    typer.Option(
        "--sounding",
        metavar="TONIC",
        help="The key in which it must sound, for a singer: key and capo are chosen to reach it.",
    ),
]
MelodyName = Annotated[
    str | None,
    typer.Option("--melody", metavar="HOW", help="as-written, simpler, or by-level. [by-level]"),
]
TuningName = Annotated[
    str | None,
    typer.Option(
        "--tuning", metavar="TUNING", help='standard or drop-d; "": the one that lies better. [standard]'
    ),
]
ComparedTuning = Annotated[
    str | None,
    typer.Option("--tuning", metavar="TUNING", help="standard or drop-d. [the plan's, or both]"),
]
CapoFret = Annotated[
    str | None,
    typer.Option("--capo", metavar="FRET", help="The fret of the capo. [0: none, or as --sounding needs]"),
]
Introduction = Annotated[
    str | None,
    typer.Option("--introduction", metavar="KIND", help="last-phrase, or dominant: two bars. [none]"),
]
Ending = Annotated[
    str | None,
    typer.Option(
        "--ending", metavar="KIND", help="The last chord: fermata, rolled-chord or harmonics. [as written]"
    ),
]
Minutes = Annotated[
    str | None,
    typer.Option("--minutes", metavar="MINUTES", help="How long it should last, by whole sections."),
]
SpellOut = Annotated[bool, typer.Option("--spell-out", help="Write repeats, D.C. and D.S. out.")]
PlanFile = Annotated[
    Path | None,
    typer.Option(
        "--plan",
        metavar="FILE",
        parser=path_for("--plan"),
        help="Your decisions for the song; options win over them.",
    ),
]
MelodyPart = Annotated[
    str | None,
    typer.Option("--part", metavar="PART", help="The part that is the melody, by name or number. [found]"),
]
Scores = Annotated[
    list[Path],
    typer.Argument(metavar="SCORE", parser=path_for("SCORE"), hidden=True),
]
FingeredFolder = Annotated[
    Path | None,
    typer.Option(
        "--out",
        metavar="DIR",
        parser=path_for("--out"),
        help='Where the results go. Left out: "fingered" beside each score.',
    ),
]
ScoreTuning = Annotated[
    str | None, typer.Option("--tuning", metavar="TUNING", help="standard or drop-d. [as the score says]")
]
ScoreCapo = Annotated[
    str | None, typer.Option("--capo", metavar="FRET", help="The fret of the capo. [as the score says]")
]
Refinger = Annotated[
    bool, typer.Option("--refinger", help="Finger everything anew, whatever fingering is written.")
]
LessonText = Annotated[
    Path | None,
    typer.Option(
        "--text",
        metavar="FILE",
        parser=path_for("--text"),
        help="A text of the lesson that you have changed: print this one.",
    ),
]
LessonFolder = Annotated[
    Path | None,
    typer.Option(
        "--out",
        metavar="DIR",
        parser=path_for("--out"),
        help='Where the lesson goes. [beside --text, or "arranged" beside each song]',
    ),
]
Anew = Annotated[bool, typer.Option("--anew", help="Replace a text that is there, whatever it says.")]
PaperName = Annotated[str | None, typer.Option("--paper", metavar="PAPER", help="a4 or letter. [a4]")]
StaffHeight = Annotated[
    str | None,
    typer.Option(
        "--staff",
        metavar="MM",
        help="The height of the five lines; 9 and more is large print. [7, or down to 6 where that saves a page]",
    ),
]
AsJson = Annotated[bool, typer.Option("--json", help="Print the result as JSON, for machines.")]
Timing = Annotated[bool, typer.Option("--timing", help="Tell the seconds of the search in the report.")]
