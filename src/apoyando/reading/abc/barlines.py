"""Bar signs (ABC 2.1 sections 4.8 to 4.10), read liberally as the standard asks."""

from dataclasses import dataclass

from apoyando.model.song import Barline

_MOST_TIMES = 99


@dataclass(frozen=True, slots=True)
class BarSign:
    """``repeat_times``: how often the stretch that ends here is played, 0 if none ends.

    ``is_soft``: dotted or invisible, a help for the eye inside a long bar.
    """

    repeat_times: int = 0
    starts_repeat: bool = False
    start_times: int = 0
    style: Barline = Barline.REGULAR
    is_soft: bool = False

    @property
    def stops_ending(self) -> bool:
        return self.repeat_times > 0 or self.style is not Barline.REGULAR


PLAIN_BAR = BarSign()


def read_bar_sign(text: str) -> BarSign:
    """Any sequence of lines, thick lines and dots: ``|``, ``|]``, ``:|``, ``::``, ``|::``, ``.|``."""
    core = text.removeprefix(".")
    lines = core.strip(":")
    if not lines.strip("]"):
        before, after = _split_dots(core)
    else:
        before, after = len(core) - len(core.lstrip(":")), len(core) - len(core.rstrip(":"))
    return BarSign(
        repeat_times=min(before + 1, _MOST_TIMES) if before else 0,
        starts_repeat=after > 0,
        start_times=min(after + 1, _MOST_TIMES) if after else 0,
        style=Barline.REGULAR if before else _style(lines),
        is_soft=text.startswith(".") or core == "[|]",
    )


def _split_dots(core: str) -> tuple[int, int]:
    """Dots alone end one stretch and start the next; with a thick line after them they only end."""
    dots = core.count(":")
    return (dots, 0) if core.endswith("]") else ((dots + 1) // 2, dots // 2)


def _style(lines: str) -> Barline:
    if "]" in lines and lines != "[|]":
        return Barline.FINAL
    if "[" in lines or lines.count("|") > 1:
        return Barline.DOUBLE
    return Barline.REGULAR
