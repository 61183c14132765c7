"""The fingerboard as it is drawn where a note is touched: strings across, the highest on top, the nut on the left.

Conventions: lengths in the units of the drawing; a place is a circle of ``2 * RADIUS``, wide enough for a finger
tip on glass (WCAG 2.2, 2.5.8 asks for 24).
"""

from collections.abc import Sequence
from dataclasses import dataclass

from apoyando.arranging import Alternative
from apoyando.desk.touch_words import name_pitch, name_price, name_way, rank_price
from apoyando.model.arrangement import Note
from apoyando.model.hand import Finger
from apoyando.model.instrument import STRINGS, Fret, Place, StringNumber
from apoyando.model.locks import NoteLock

RADIUS = 12.5
STRING_STEP, FRET_STEP = 28.0, 30.0
LEFT, TOP = 48.0, 18.0
FEWEST_FRETS = 7
MARKED_FRETS = (3, 5, 7, 9, 12, 15, 17, 19)
"""Where guitars have dots on the side, or players count from (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Way:
    """One way to play the note: what settles it, in words, what it costs, and where it is drawn ("" if nowhere)."""

    value: str
    words: str
    price: str
    rank: str
    spot: str
    pitch: str
    is_now: bool


@dataclass(frozen=True, slots=True)
class Spot:
    """A place of the drawing with its cheapest finger; all its ways are in ``label``."""

    spot: str
    x: float
    y: float
    digit: str
    rank: str
    label: str
    is_now: bool


@dataclass(frozen=True, slots=True)
class Board:
    """``strings`` are heights with thicknesses, ``wires`` and ``marks`` places along the neck."""

    width: float
    height: float
    strings: tuple[tuple[float, float], ...]
    wires: tuple[float, ...]
    marks: tuple[tuple[float, int], ...]
    spots: tuple[Spot, ...]


def list_ways(alternatives: Sequence[Alternative], now: Note | None) -> tuple[Way, ...]:
    """The ways of a note, the cheapest first. ``now`` is the note as it is played, None where it is left out."""
    return tuple(
        _way(each.lock, each.price, name_pitch(each.pitch) if each.pitch else "", now)
        for each in alternatives
        if isinstance(each.lock, NoteLock)
    )


def _way(lock: NoteLock, price: int, pitch: str, now: Note | None) -> Way:
    place = _place_of(lock)
    if place is None or lock.finger is None:
        is_now = now is None
        return Way("silent", "left out", _tell(price, is_now), rank_price(price), "", "", is_now)
    is_now = now is not None and (now.place, now.finger) == (place, lock.finger)
    return Way(
        value=f"{place.string}-{place.fret}-{lock.finger:d}",
        words=name_way(place, lock.finger),
        price=_tell(price, is_now),
        rank=rank_price(price),
        spot=f"{place.string}-{place.fret}",
        pitch=pitch,
        is_now=is_now,
    )


def _tell(price: int, is_now: bool) -> str:
    return "as now" if is_now else name_price(price)


def _place_of(lock: NoteLock) -> Place | None:
    return None if lock.string is None or lock.fret is None else Place(lock.string, lock.fret)


def read_way(value: str) -> dict[str, object]:
    """What a way's ``value`` says, as a plan file would have it; text that is no way is told by who reads the plan."""
    if value == "silent":
        return {"silent": True}
    numbers = [int(number) if number.isdecimal() else number for number in value.split("-")]
    return dict(zip(("string", "fret", "finger"), numbers, strict=False))


def draw_board(ways: Sequence[Way]) -> Board:
    """All places of the ways, on a neck as long as they ask for."""
    by_spot: dict[str, list[Way]] = {}
    for way in ways:
        if way.spot:
            by_spot.setdefault(way.spot, []).append(way)
    places = {spot: _read_place(spot) for spot in by_spot}
    frets = max([FEWEST_FRETS, *(place.fret for place in places.values())])
    return Board(
        width=LEFT + FRET_STEP * frets + RADIUS,
        height=2 * TOP + STRING_STEP * (len(STRINGS) - 1) + RADIUS,
        strings=tuple((_y(string), 0.6 + 0.35 * string) for string in STRINGS),
        wires=tuple(LEFT + FRET_STEP * fret for fret in range(frets + 1)),
        marks=tuple((_x(fret), fret) for fret in MARKED_FRETS if fret <= frets),
        spots=tuple(_spot(places[spot], spot, there) for spot, there in by_spot.items()),
    )


def _spot(place: Place, name: str, ways: Sequence[Way]) -> Spot:
    told = "; ".join(f"{_finger_words(way)} {way.price}" for way in ways)
    where = "open" if place.is_open else f"fret {place.fret}"
    return Spot(
        spot=name,
        x=_x(place.fret),
        y=_y(place.string),
        digit=next((way for way in ways if way.is_now), ways[0]).value.split("-")[2],
        rank=ways[0].rank,
        label=f"string {place.string} {where}, {ways[0].pitch}: {told}",
        is_now=any(way.is_now for way in ways),
    )


def _finger_words(way: Way) -> str:
    finger = Finger(int(way.value.split("-")[2]))
    return "open string" if finger is Finger.OPEN else f"finger {finger:d}"


def _read_place(spot: str) -> Place:
    string, fret = spot.split("-")
    return Place(StringNumber(int(string)), Fret(int(fret)))


def _x(fret: int) -> float:
    """Between its wire and the one before it; open strings before the nut."""
    return LEFT + FRET_STEP * (fret - 0.5)


def _y(string: int) -> float:
    return TOP + STRING_STEP * (string - 1)
