"""The commands that read songs and make pieces of them; and the desk."""

import sys
from functools import partial
from pathlib import Path
from typing import Annotated

import typer

from apoyando.cli import screen
from apoyando.cli.application import app, begin_helpers, work_through
from apoyando.cli.choices import choose_levels, choose_page, decide
from apoyando.cli.command_line import path_for, whole_between
from apoyando.cli.options import (
    Anew,
    AsJson,
    CapoFret,
    ComparedTuning,
    Ending,
    FingeredFolder,
    Introduction,
    KeyName,
    LessonFolder,
    LessonText,
    LevelName,
    LevelsFile,
    MelodyName,
    MelodyPart,
    Minutes,
    OutFolder,
    PaperName,
    PlanFile,
    Refinger,
    ScoreCapo,
    Scores,
    ScoreTuning,
    Songs,
    Sounding,
    SpellOut,
    StaffHeight,
    TextureName,
    Timing,
    TuningName,
)
from apoyando.cli.outcome import usage_errors_told
from apoyando.cli.telling import tell
from apoyando.files import SCORE_SUFFIXES, find_songs, write_new

HIGHEST_PORT = 65_535
"""Ports are numbers of 16 bits (RFC 9293)."""


@app.command()
def arrange(
    songs: Songs,
    out: OutFolder = None,
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
    paper: PaperName = None,
    staff: StaffHeight = None,
    plan: PlanFile = None,
    timing: Timing = False,
    as_json: AsJson = False,
) -> None:
    """Arrange songs for one guitar.

    SONG is a song (.abc, .musicxml, .mxl, .xml, .mid) or a folder of songs; several may be named.
    Writes NAME.pdf, NAME.musicxml, NAME.mid, NAME.report.json and NAME.plan.toml.
    """
    with usage_errors_told():
        begin_helpers()
        from apoyando.cli.arranged import describe, make_and_write, say
        from apoyando.cli.targets import choose_targets
        from apoyando.pipeline import OUTPUT_SUFFIXES, make_piece

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
        decided = choose_page(decide(plan, choices, table), {"paper": paper, "staff": staff})
        targets = choose_targets(find_songs(songs), out, OUTPUT_SUFFIXES, plan)
    make = partial(make_piece, plan=decided, levels=table, is_timed=timing)
    work = partial(make_and_write, targets=targets, make=make)
    work_through(tuple(targets), work, "arranging", describe if as_json else None, say)


@app.command()
def finger(
    scores: Scores,
    out: FingeredFolder = None,
    level: LevelName = None,
    levels: LevelsFile = None,
    tuning: ScoreTuning = None,
    capo: ScoreCapo = None,
    plan: PlanFile = None,
    refinger: Refinger = False,
    timing: Timing = False,
    as_json: AsJson = False,
) -> None:
    """Finger guitar music that is there already.

    SCORE is music for one guitar (.musicxml, .mxl, .xml, .mid) or a folder of it; several may
    be named. The fingering that is written is kept, the rest is filled in. Writes NAME.pdf,
    NAME.musicxml, NAME.mid, NAME.report.json and NAME.plan.toml.
    """
    with usage_errors_told():
        from apoyando.cli.arranged import describe, make_and_write, say
        from apoyando.cli.choices import wish
        from apoyando.cli.targets import FINGERED_FOLDER, choose_targets
        from apoyando.pipeline import OUTPUT_SUFFIXES, finger_piece

        table = choose_levels(levels)
        wishes = wish(plan, {"level": level, "tuning": tuning, "capo": capo}, table, is_anew=refinger)
        found = find_songs(scores, SCORE_SUFFIXES)
        targets = choose_targets(found, out, OUTPUT_SUFFIXES, plan, FINGERED_FOLDER)
    make = partial(finger_piece, wishes=wishes, levels=table, is_timed=timing)
    work = partial(make_and_write, targets=targets, make=make)
    work_through(tuple(targets), work, "fingering", describe if as_json else None, say)


@app.command()
def lesson(
    songs: Songs,
    text: LessonText = None,
    anew: Anew = False,
    out: LessonFolder = None,
    key: KeyName = None,
    level: LevelName = None,
    levels: LevelsFile = None,
    plan: PlanFile = None,
    as_json: AsJson = False,
) -> None:
    """Write a lesson sheet: what a song asks for, and how to practise it.

    SONG is a song or a folder of songs, as for arrange. Writes NAME.lesson.pdf for the student,
    and NAME.lesson.md, the same as a text to be changed; with --text only the PDF is made, from
    the changed text. Give the plan of the pages that the student has.
    """
    with usage_errors_told():
        begin_helpers()
        from apoyando.cli.lesson import LessonWish, choose_sheets, describe, print_lesson, say

        table = choose_levels(levels)
        decided = decide(plan, {"key": key, "level": level}, table)
        wish = LessonWish(out=out, text=text, is_anew=anew)
        targets = choose_sheets(find_songs(songs), wish)
    work = partial(print_lesson, targets=targets, wish=wish, plan=decided, levels=table)
    work_through(tuple(targets), work, "writing the lesson on", describe if as_json else None, say)


@app.command()
def keys(
    songs: Songs,
    sounding: Sounding = None,
    level: LevelName = None,
    levels: LevelsFile = None,
    texture: TextureName = None,
    melody: MelodyName = None,
    tuning: ComparedTuning = None,
    part: MelodyPart = None,
    plan: PlanFile = None,
    as_json: AsJson = False,
) -> None:
    """Compare the keys of a song, the best first.

    Tells what each costs: the price, open basses, barres, highest fret, hardest bar, and why it
    is dearer than the best. With --sounding the key that is heard stays, and the keys are those
    that reach it with a capo up to fret 5.
    """
    with usage_errors_told():
        begin_helpers()
        from apoyando.cli.compared import compare, describe, say

        table = choose_levels(levels)
        open_tuning = "" if tuning is None and plan is None else tuning
        choices = {
            "sounding": sounding,
            "level": level,
            "texture": texture,
            "melody": melody,
            "part": part,
            "tuning": open_tuning,
        }
        decided = decide(plan, choices, table)
        found = find_songs(songs)
    work = partial(compare, plan=decided, levels=table)
    work_through(found, work, "comparing keys of", describe if as_json else None, say)


@app.command()
def read(songs: Songs, part: MelodyPart = None, plan: PlanFile = None, as_json: AsJson = False) -> None:
    """Show what was understood of a song, bar by bar.

    Tells which part is the melody where there are several, and which chords were found in
    the notes because none are written.
    """
    with usage_errors_told():
        from apoyando.cli.understood import describe, say, understand

        decided = decide(plan, {"part": part})
        found = find_songs(songs)
    work = partial(understand, plan=decided)
    work_through(found, work, "reading", describe if as_json else None, say, progress=screen.no_progress)


@app.command(name="levels")
def write_levels(
    out: Annotated[
        Path | None,
        typer.Option(
            "--out",
            metavar="FILE",
            parser=path_for("--out"),
            help="Where the table goes. Left out: it is shown.",
        ),
    ] = None,
) -> None:
    """Write the table of levels, for a teacher to copy and change.

    Name the copy with --levels when arranging. A file that is there is never replaced.
    """
    with usage_errors_told():
        from apoyando.reading import load_default_table

        if out is None:
            typer.echo(load_default_table(), nl=False)
        else:
            write_new(out, load_default_table().encode())
            tell(str(out))


@app.command()
def desk(
    shelf: Annotated[
        Path | None,
        typer.Argument(
            metavar="SHELF",
            parser=path_for("SHELF"),
            help="The folder of your songs. [repertoire, in your home folder]",
        ),
    ] = None,
    levels: LevelsFile = None,
    port: Annotated[
        int,
        typer.Option(
            "--port",
            metavar="PORT",
            parser=whole_between("--port", 0, HIGHEST_PORT),
            help="The port of the address. [one that is free]",
            show_default=False,
        ),
    ] = 0,
    browser: Annotated[
        bool, typer.Option("--browser/--no-browser", help="Open the page in the browser.")
    ] = True,
) -> None:
    """Work at the desk: a page in the browser, served on this machine alone.

    Prints the address to open. SHELF holds plain files, a folder for each song. Stop with Ctrl-C.
    """
    with usage_errors_told():
        from apoyando.desk import serve_desk

        folder = Path.home() / "repertoire" if shelf is None else shelf
        serve_desk(folder, choose_levels(levels), port=port, opens_browser=browser, tell=_tell_address)


def _tell_address(address: str) -> None:
    """At once, also where the output goes to a file."""
    typer.echo(address)
    sys.stdout.flush()
