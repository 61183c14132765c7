"""How notes, places and prices are called where the page is touched."""

from apoyando.model.arrangement import Arrangement, Note, Role
from apoyando.model.beat import count_beat, name_count
from apoyando.model.hand import Finger
from apoyando.model.instrument import Place
from apoyando.model.pitch import Pitch
from apoyando.model.song import Bar, bar_at

VOICES = {Role.MELODY: "tune", Role.BASS: "bass", Role.INNER: "inner voice"}
HARDLY, LITTLE, MUCH = 25, 100, 400
"""Prices: 100 is one clear discomfort of the hand or one clear blemish to the ear (docs/objective.md)."""


def name_pitch(pitch: Pitch | str) -> str:
    """As musicians write it: F♯4."""
    text = str(pitch)
    return text[0] + text[1:].replace("#", "♯").replace("b", "♭")


def name_way(place: Place, finger: Finger) -> str:
    """How a note is stopped: "string 2, fret 1, finger 1"; "string 2, open"."""
    return f"string {place.string}, " + ("open" if place.is_open else f"fret {place.fret}, finger {finger:d}")


def name_note(arrangement: Arrangement, note: Note) -> str:
    """For who cannot see the page: "bar 3, beat 1: F♯4, tune, string 2, open"."""
    bar = bar_at(arrangement.bars, note.onset)
    what = f"{name_pitch(note.pitch)}, {VOICES[note.role]}, {name_way(note.place, note.finger)}"
    return f"bar {bar.number}, beat {name_beat(bar, note)}: {what}"


def name_beat(bar: Bar, note: Note) -> str:
    return name_count(count_beat(bar, note.onset))


def name_price(price: int) -> str:
    """What another way costs, in words with the figure."""
    if price <= 0:
        return f"easier by {-price}" if price else "costs nothing more"
    words = ((HARDLY, "hardly dearer"), (LITTLE, "a little dearer"), (MUCH, "dearer"))
    return f"{next((word for most, word in words if price <= most), 'much dearer')}, +{price}"


def rank_price(price: int) -> str:
    """The same for the drawing: free, near, far or remote."""
    words = ((HARDLY, "free"), (LITTLE, "near"), (MUCH, "far"))
    return next((word for most, word in words if price <= most), "remote")
