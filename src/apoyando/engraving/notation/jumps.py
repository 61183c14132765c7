"""How jumps are worded where the source does not word them: alike on the page and in the file."""

from collections.abc import Sequence

from apoyando.model.song import Bar, Jump

_AT_THE_END = (Jump.FINE, Jump.TO_CODA, Jump.DA_CAPO, Jump.DAL_SEGNO)


def word_jumps(bars: Sequence[Bar], bar: Bar) -> tuple[tuple[Jump, str], ...]:
    """The jumps at the end of a bar, each with its words; the source's own words are those of the last."""
    jumps = [jump for jump in _AT_THE_END if jump in bar.jumps]
    if not jumps:
        return ()
    goal = _repeats(bars) + _goal(bars)
    words = {
        Jump.FINE: "Fine",
        Jump.TO_CODA: "To Coda",
        Jump.DA_CAPO: f"D.C.{goal}",
        Jump.DAL_SEGNO: f"D.S.{goal}",
    }
    return tuple(
        (jump, bar.jump_words if bar.jump_words and jump is jumps[-1] else words[jump]) for jump in jumps
    )


def _repeats(bars: Sequence[Bar]) -> str:
    """They are not taken after turning back, unless it is said (common practice, from memory)."""
    return " con rep." if any(bar.repeats_after_jump for bar in bars) else ""


def _goal(bars: Sequence[Bar]) -> str:
    """How far the music goes after turning back."""
    marks = {jump for bar in bars for jump in bar.jumps}
    if Jump.TO_CODA in marks and Jump.CODA in marks:
        return " al Coda"
    return " al Fine" if Jump.FINE in marks else ""
