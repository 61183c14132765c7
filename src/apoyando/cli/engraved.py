"""``apoyando engrave``: a piece on paper, or a part of it as a picture."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path

from apoyando.cli.screen import Entry, name_files
from apoyando.cli.targets import choose_targets
from apoyando.cli.telling import tell
from apoyando.engraving import (
    engrave_bars,
    engrave_musicxml,
    engrave_pdf,
    engrave_svgs,
    engrave_system,
    paint_png,
)
from apoyando.files import printable_name, read_song_bytes, write_together
from apoyando.model.arrangement import Arrangement
from apoyando.model.bar_numbers import find_bar
from apoyando.model.errors import UsageError
from apoyando.model.level import Level
from apoyando.model.plan import Plan
from apoyando.model.ring import Ring
from apoyando.model.sheet import Sheet, Variant
from apoyando.model.song import Bar
from apoyando.pipeline import arrange_piece

ENGRAVED_FOLDER = "engraved"
"""Beside the song, and not among the pages that ``arrange`` wrote."""


class EngravingFormat(StrEnum):
    """What is written. The values are the suffixes of the files."""

    PDF = "pdf"
    SVG = "svg"
    PNG = "png"
    MUSICXML = "musicxml"

    @property
    def is_document(self) -> bool:
        """One file, whatever its pages; no picture."""
        return self in (EngravingFormat.PDF, EngravingFormat.MUSICXML)


@dataclass(frozen=True, slots=True, kw_only=True)
class Cutting:
    """What of the piece is wanted: a system by its number, bars by theirs, or, without either, all."""

    system: int | None = None
    bars: str | None = None

    @property
    def name(self) -> str:
        """What is put into the file's name."""
        if self.bars is not None:
            return f".bars-{self.bars}"
        return "" if self.system is None else f".system-{self.system}"


@dataclass(frozen=True, slots=True, kw_only=True)
class EngravingWish:
    """``dots_per_inch`` is how fine a PNG is."""

    cutting: Cutting
    format: EngravingFormat
    dots_per_inch: int
    variant: Variant = Variant.SCORE

    @property
    def name(self) -> str:
        """What is put into the file's name: ``.melody.bars-9-12``."""
        return ("" if self.variant is Variant.SCORE else f".{self.variant}") + self.cutting.name


@dataclass(frozen=True, slots=True)
class Engraved:
    files: tuple[Path, ...]


def make_wish(
    system: int | None, bars: str | None, picture: str | None, dots_per_inch: int, variant: str | None = None
) -> EngravingWish:
    """Pages are a PDF and cuttings a PNG unless something else is asked for. Raises UsageError."""
    if system is not None and bars is not None:
        raise UsageError("--system and --bars name two different cuttings. Leave one of them out.")
    if picture and picture not in tuple(EngravingFormat):
        raise UsageError(f"--format {picture}: there are {', '.join(EngravingFormat)}.")
    if variant and variant not in tuple(Variant):
        raise UsageError(f"--variant {variant}: there are {', '.join(Variant)}.")
    cutting = Cutting(system=system, bars=bars)
    if cutting.name and picture and EngravingFormat(picture).is_document:
        raise UsageError("a cutting is a picture and no document. Choose --format svg or png for it.")
    usual = EngravingFormat.PNG if cutting.name else EngravingFormat.PDF
    return EngravingWish(
        cutting=cutting,
        format=EngravingFormat(picture or usual),
        dots_per_inch=dots_per_inch,
        variant=Variant(variant or Variant.SCORE),
    )


def choose_picture_targets(
    songs: tuple[Path, ...], out: Path | None, wish: EngravingWish
) -> Mapping[Path, Path]:
    """For each song its file, or the first of its pages' files. Raises UsageError as ``choose_targets`` does."""
    is_by_page = not wish.format.is_document and not wish.cutting.name
    suffix = f"{wish.name}{'.page-1' if is_by_page else ''}.{wish.format}"
    targets = choose_targets(songs, out, (suffix,), folder=ENGRAVED_FOLDER)
    return {song: files[suffix] for song, files in targets.items()}


def engrave_and_write(
    song: Path,
    *,
    targets: Mapping[Path, Path],
    wish: EngravingWish,
    plan: Plan,
    levels: Mapping[str, Level],
) -> Engraved:
    piece = arrange_piece(read_song_bytes(song), printable_name(song), plan, levels)
    contents = draw(piece.arrangement, plan.page, wish, piece.rings)
    files = _number(targets[song], len(contents))
    write_together(dict(zip(files, contents, strict=True)))
    return Engraved(files)


def draw(
    arrangement: Arrangement, sheet: Sheet, wish: EngravingWish, rings: Sequence[Ring] = ()
) -> tuple[bytes, ...]:
    """The files that are wanted: one, or one for each page. Raises UsageError."""
    if wish.format is EngravingFormat.PDF:
        return (engrave_pdf(arrangement, sheet, wish.variant, rings),)
    if wish.format is EngravingFormat.MUSICXML:
        return (engrave_musicxml(arrangement, sheet, wish.variant, rings),)
    pictures = _draw_pictures(arrangement, sheet, wish, rings)
    if wish.format is EngravingFormat.SVG:
        return tuple(picture.encode() for picture in pictures)
    return tuple(paint_png(picture, wish.dots_per_inch) for picture in pictures)


def _draw_pictures(
    arrangement: Arrangement, sheet: Sheet, wish: EngravingWish, rings: Sequence[Ring]
) -> tuple[str, ...]:
    cutting, variant = wish.cutting, wish.variant
    if cutting.bars is not None:
        first, last = _find_range(arrangement.bars, cutting.bars)
        return (engrave_bars(arrangement, first, last, sheet, variant, rings),)
    if cutting.system is not None:
        return (engrave_system(arrangement, cutting.system, sheet, variant, rings),)
    return engrave_svgs(arrangement, sheet, variant, rings)


def _find_range(bars: Sequence[Bar], wanted: str) -> tuple[int, int]:
    """The indices of the first and the last bar. Raises UsageError."""
    first, dash, last = (part.strip() for part in wanted.partition("-"))
    if not first or (dash and not last):
        raise UsageError(f"--bars {wanted}: name the first and the last bar, as 9-12, or one bar, as 9.")
    begin, end = find_bar(bars, first).index, find_bar(bars, last if dash else first).index
    if end < begin:
        raise UsageError(f"--bars {wanted}: bar {last} comes before bar {first}. Name the earlier one first.")
    return begin, end


def _number(first: Path, count: int) -> tuple[Path, ...]:
    """The files of all pages, after that of the first."""
    stem, _, suffix = first.name.rpartition(".page-1")
    if not stem:
        return (first,)
    return tuple(first.with_name(f"{stem}.page-{number}{suffix}") for number in range(1, count + 1))


def describe(engraved: Engraved) -> Entry:
    return {"files": [str(path) for path in engraved.files]}


def say(engraved: Engraved) -> None:
    first, *others = engraved.files
    tell(name_files(engraved.files) if others else str(first))
