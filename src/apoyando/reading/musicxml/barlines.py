"""What stands at the sides of a measure.

Source: W3C MusicXML 4.0, elements barline, repeat, ending.
"""

from dataclasses import dataclass
from xml.etree.ElementTree import Element

from apoyando.model.song import Barline
from apoyando.reading.form import read_passes
from apoyando.reading.musicxml.values import is_yes, read_whole, text_of

_BARLINES = {
    "light-heavy": Barline.FINAL,
    "light-light": Barline.DOUBLE,
    "heavy-light": Barline.DOUBLE,
    "heavy-heavy": Barline.DOUBLE,
}


@dataclass(frozen=True, slots=True, kw_only=True)
class BarlineSigns:
    """What stands on one side of a measure. ``ending_starts``: the passes, or () if none starts."""

    repeats_forward: bool = False
    repeats_backward: int = 0
    repeats_after_jump: bool = False
    ending_starts: tuple[int, ...] = ()
    ending_stops: bool = False
    style: Barline = Barline.REGULAR


def read_barline(element: Element) -> BarlineSigns:
    repeat = element.find("repeat")
    direction = repeat.get("direction") if repeat is not None else ""
    ending = element.find("ending")
    ending_type = ending.get("type") if ending is not None else ""
    return BarlineSigns(
        repeats_forward=direction == "forward",
        repeats_backward=_repeat_times(repeat) if direction == "backward" else 0,
        repeats_after_jump=repeat is not None and is_yes(repeat.get("after-jump")),
        ending_starts=_ending_numbers(ending) if ending_type == "start" else (),
        ending_stops=ending_type in ("stop", "discontinue"),
        style=_BARLINES.get(text_of(element, "bar-style"), Barline.REGULAR),
    )


def _repeat_times(repeat: Element | None) -> int:
    times = read_whole(repeat.get("times")) if repeat is not None else None
    return min(max(times or 2, 2), 99)


def _ending_numbers(ending: Element | None) -> tuple[int, ...]:
    """The passes of an ending: "1", "1, 2", "1-3", or what is printed in the bracket."""
    if ending is None:
        return ()
    return read_passes(ending.get("number") or "") or read_passes(text_of(ending)) or (1,)
