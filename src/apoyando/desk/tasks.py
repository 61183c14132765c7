"""What the desk asks of the rooms below: plain values that are sent to a worker and done there."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from io import BytesIO
from typing import Any
from zipfile import ZipFile, ZipInfo

from apoyando.arranging import Alternative
from apoyando.desk.hearing import describe_hearing
from apoyando.desk.tune_notes import PlainNote, describe_tune, list_pickups
from apoyando.engraving import engrave_lead_sheet, engrave_pdf, engrave_svgs
from apoyando.model.arrangement import Arrangement
from apoyando.model.errors import Problem
from apoyando.model.level import Level
from apoyando.model.locks import NoteLock
from apoyando.model.plan import Plan
from apoyando.model.sheet import Variant
from apoyando.model.song import Song
from apoyando.model.time import Quarters
from apoyando.pipeline import (
    LESSON_PDF,
    LESSON_TEXT,
    PDF,
    Piece,
    arrange_piece,
    compare_song_keys,
    make_lesson,
    name_keys,
    plan_practice_set,
    settle_setup,
    weigh_positions_of_bar,
    weigh_ways_of_note,
    write_outputs,
)
from apoyando.reading import move_pickup, read_planned_song, read_sketch
from apoyando.report import describe_keys, describe_song, encode_report
from apoyando.sound import AudioFormat, PracticeWishes, render_track, write_playlist, write_track_midi

Told = dict[str, Any]
"""A report, as JSON would carry it."""
Levels = Mapping[str, Level]
PRACTICE = ".practice.zip"
LARGE_STAFF_MM, LARGE_MARGIN_MM = 14.0, 6.0
"""Twice the usual height: two bars to a line of a telephone held upright, its staff then 24 pixels high."""
Tell = Callable[["str | Look"], None]
"""Hears the stages in words, and may be given a first look."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Understood:
    """A song as it was read: told bar by bar, and drawn. ``lacks`` is what a sketch still needs.

    ``notes`` and ``pickups`` are for putting it right.
    """

    told: Told
    pages: tuple[str, ...]
    notes: tuple[PlainNote, ...] = ()
    pickups: tuple[tuple[str, str], ...] = ()
    lacks: tuple[Problem, ...] = ()


@dataclass(frozen=True, slots=True)
class Look:
    """The pages as they will nearly be, to look at while the piece is made."""

    pages: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawn:
    """A piece and its pages. ``settled`` is the player's plan with the key that was chosen for it."""

    piece: Piece
    settled: Plan
    keys: tuple[str, ...]
    pages: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Understand:
    """Read a song and draw it as it was understood."""

    data: bytes
    file_name: str
    plan: Plan

    def do(self, levels: Levels, tell: Tell) -> Understood:
        del levels
        tell("reading the song")
        plan = self.plan
        song = read_planned_song(self.data, self.file_name, plan)
        return replace(_draw(song), notes=describe_tune(song), pickups=list_pickups(song))


@dataclass(frozen=True, slots=True, kw_only=True)
class MovePickup:
    """The plan of a song with another pickup: what it puts right stays where it was in the music."""

    data: bytes
    file_name: str
    plan: Plan
    pickup: Quarters | None

    def do(self, levels: Levels, tell: Tell) -> Plan:
        del levels
        tell("moving the barlines")
        return move_pickup(self.data, self.file_name, self.plan, self.pickup)


@dataclass(frozen=True, slots=True, kw_only=True)
class Sketch:
    """Read a tune that is being typed, with chords or still without."""

    data: bytes
    file_name: str

    def do(self, levels: Levels, tell: Tell) -> Understood:
        del levels, tell
        song, lacks = read_sketch(self.data, self.file_name)
        return _draw(song, lacks)


def _draw(song: Song, lacks: tuple[Problem, ...] = ()) -> Understood:
    return Understood(told=describe_song(song), pages=engrave_lead_sheet(song), lacks=lacks)


@dataclass(frozen=True, slots=True, kw_only=True)
class Arrange:
    """Arrange a song by its plan and draw the pages, first at once as a sketch."""

    data: bytes
    file_name: str
    plan: Plan

    def do(self, levels: Levels, tell: Tell) -> Drawn:
        looks: list[tuple[Arrangement, Look]] = []

        def hear(told: str | Piece) -> None:
            if isinstance(told, str):
                tell(told)
                return
            look = Look(self._engrave(told.arrangement))
            looks.append((told.arrangement, look))
            tell(look)

        piece = arrange_piece(self.data, self.file_name, self.plan, levels, tell=hear)
        tell("engraving")
        ((sketch, look),) = looks
        is_drawn = _looks_like(sketch, piece.arrangement)
        return Drawn(
            piece=piece,
            settled=settle_setup(self.plan, piece),
            keys=name_keys(piece.song) if isinstance(piece.song, Song) else (),
            pages=look.pages if is_drawn else self._engrave(piece.arrangement),
        )

    def _engrave(self, arrangement: Arrangement) -> tuple[str, ...]:
        return engrave_svgs(arrangement, self.plan.page)


def _looks_like(one: Arrangement, other: Arrangement) -> bool:
    """Whether two pieces are one page: what the search says of itself is not on it."""
    return replace(one, search=other.search) == other


@dataclass(frozen=True, slots=True, kw_only=True)
class CompareKeys:
    """All keys of a song, the best first, as ``describe_keys`` tells them."""

    data: bytes
    file_name: str
    plan: Plan

    def do(self, levels: Levels, tell: Tell) -> list[Told]:
        tell("arranging the song in every key")
        return describe_keys(compare_song_keys(self.data, self.file_name, self.plan, levels))


@dataclass(frozen=True, slots=True, kw_only=True)
class WriteOut:
    """The files of a piece that is arranged already, by their suffixes."""

    piece: Piece

    def do(self, levels: Levels, tell: Tell) -> Mapping[str, bytes]:
        del levels
        tell("writing the files")
        piece = self.piece
        return write_outputs(piece.arrangement, piece.plan, encode_report(piece.report))


@dataclass(frozen=True, slots=True, kw_only=True)
class WritePage:
    """Another of the pages that one plan gives, as a PDF."""

    piece: Piece
    variant: Variant

    def do(self, levels: Levels, tell: Tell) -> Mapping[str, bytes]:
        del levels
        tell("engraving")
        piece = self.piece
        drawn = engrave_pdf(piece.arrangement, piece.plan.page, self.variant, piece.rings)
        return {f".{self.variant}{PDF}": drawn}


@dataclass(frozen=True, slots=True, kw_only=True)
class WriteLesson:
    """The lesson sheet of a piece, as a page and as a text."""

    piece: Piece

    def do(self, levels: Levels, tell: Tell) -> Mapping[str, bytes]:
        tell("writing the lesson sheet")
        lesson = make_lesson(self.piece, levels)
        return {LESSON_PDF: lesson.pdf, LESSON_TEXT: lesson.text.encode()}


@dataclass(frozen=True, slots=True, kw_only=True)
class WritePractice:
    """The practice set of a piece: sound and MIDI of each track and their playlist, in one archive."""

    piece: Piece
    name: str

    def do(self, levels: Levels, tell: Tell) -> Mapping[str, bytes]:
        del levels
        wishes = PracticeWishes(audio_format=AudioFormat.OGG)
        tracks = plan_practice_set(self.piece, wishes)
        packed = BytesIO()
        with ZipFile(packed, "w") as archive:
            for number, track in enumerate(tracks, 1):
                tell(f"rendering {number} of {len(tracks)}: {track.title}")
                sound = f"{track.stem}{wishes.audio_format.suffix}"
                archive.writestr(_entry(f"{self.name}/{sound}"), render_track(track, wishes))
                archive.writestr(_entry(f"{self.name}/{track.stem}.mid"), write_track_midi(track))
            archive.writestr(_entry(f"{self.name}/{self.name}.m3u"), write_playlist(tracks, wishes))
        return {PRACTICE: packed.getvalue()}


def _entry(name: str) -> ZipInfo:
    """A file of an archive without a date: the same set gives the same bytes."""
    return ZipInfo(name)


@dataclass(frozen=True, slots=True, kw_only=True)
class WeighNote:
    """Every way to play a note of a piece, the cheapest first; ``beside`` stays as it is."""

    piece: Piece
    note: NoteLock
    beside: tuple[NoteLock, ...] = ()

    def do(self, levels: Levels, tell: Tell) -> tuple[Alternative, ...]:
        tell("weighing its other places and fingers")
        return weigh_ways_of_note(_song_of(self.piece), self.piece.plan, levels, self.note, self.beside)


@dataclass(frozen=True, slots=True, kw_only=True)
class WeighBar:
    """Every position for a bar of a piece, the cheapest first."""

    piece: Piece
    bar: str

    def do(self, levels: Levels, tell: Tell) -> tuple[Alternative, ...]:
        tell("weighing the positions")
        return weigh_positions_of_bar(_song_of(self.piece), self.piece.plan, levels, self.bar)


@dataclass(frozen=True, slots=True, kw_only=True)
class Redraw:
    """The pages of a piece drawn otherwise: in large notes, or with the hold chart under each system."""

    piece: Piece
    is_large: bool
    has_holds: bool

    def do(self, levels: Levels, tell: Tell) -> tuple[str, ...]:
        del levels
        tell("drawing what stays down" if self.has_holds else "drawing the notes large")
        piece = self.piece
        page = piece.plan.page
        if self.is_large:
            page = replace(page, staff_mm=LARGE_STAFF_MM, margin_mm=LARGE_MARGIN_MM)
        variant = Variant.HOLDS if self.has_holds else Variant.SCORE
        return engrave_svgs(piece.arrangement, page, variant, piece.rings)


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanPlayback:
    """A piece as it is heard: which note when, how loudly, on what samples."""

    piece: Piece

    def do(self, levels: Levels, tell: Tell) -> Told:
        del levels
        tell("setting the balance")
        return describe_hearing(self.piece.arrangement)


def _song_of(piece: Piece) -> Song:
    assert isinstance(piece.song, Song)  # noqa: S101 - the shelf has songs only
    return piece.song


Task = (
    Understand
    | MovePickup
    | Sketch
    | Arrange
    | CompareKeys
    | WriteOut
    | WritePage
    | WriteLesson
    | WritePractice
    | WeighNote
    | WeighBar
    | Redraw
    | PlanPlayback
)
