"""The form of a piece: repeats, endings, signs and jumps, made consistent.

What is implied is made explicit, what contradicts itself is put right with a remark.
"""

import re
from collections.abc import Iterator, Sequence
from dataclasses import replace

from apoyando.model.song import Bar, Barline, Jump, ReadingRemark

_JUMP_WORDS: tuple[tuple[re.Pattern[str], Jump], ...] = tuple(
    (re.compile(pattern, re.IGNORECASE), jump)
    for pattern, jump in (
        (r"d\.?\s?c\.?(?:\s*al\b.*|\s*$)|da\s?capo\b.*", Jump.DA_CAPO),
        (r"d\.?\s?s\.?(?:\s*𝄋)?(?:\s*al\b.*|\s*$)|dal\s?segno\b.*", Jump.DAL_SEGNO),
        (r"(?:to|da)\s?(?:coda|⊕|𝄌).*", Jump.TO_CODA),
        (r"coda\.?|⊕|𝄌", Jump.CODA),
        (r"segno|𝄋", Jump.SEGNO),
        (r"fine\.?", Jump.FINE),
    )
)
_NEEDED: tuple[tuple[str, Jump, str], ...] = (
    ("coda", Jump.TO_CODA, "there is no “To Coda” sign to leave from"),
    ("fine", Jump.FINE, "there is no “Fine” to end at"),
)
_AT_START = (Jump.SEGNO, Jump.CODA)


def read_jump_words(text: str) -> Jump | None:
    """The jump that a direction in words asks for: "D.C. al Fine", "To Coda"; None if none."""
    return next((jump for pattern, jump in _JUMP_WORDS if pattern.fullmatch(text.strip())), None)


def keep_jump_words(text: str) -> str:
    """What is kept of words at a jump: no sign, and nothing that only names one, for signs are drawn.

    But ``D.S. al 𝄌`` has no sign besides, and is ``D.S. al Coda``.
    """
    jump = read_jump_words(text)
    if jump in _AT_START:
        return ""
    coda = "" if jump is Jump.TO_CODA else "Coda"
    return " ".join(re.sub("[⊕𝄌]", f" {coda} ", text).replace("𝄋", " ").split())


def read_passes(text: str) -> tuple[int, ...]:
    """The passes that an ending is for: "1", "1, 2", "1-3"; in order, each once."""
    passes: set[int] = set()
    for first, last in re.findall(r"(\d{1,2})(?:\s*[-–]\s*(\d{1,2}))?", text):
        passes.update(range(int(first), int(last or first) + 1))
    return tuple(sorted(passes - {0}))


def settle_form(
    bars: tuple[Bar, ...], *, double_bars_bound_repeats: bool
) -> tuple[tuple[Bar, ...], tuple[ReadingRemark, ...]]:
    """The bars with consistent repeats, endings and signs, and what was put right."""
    settled, repeat_remarks = _settle_endings(bars)
    settled = _start_repeats(settled, double_bars_bound=double_bars_bound_repeats)
    settled = _leave_for_coda(settled)
    settled, sign_remarks = _set_segno(settled)
    return settled, (*repeat_remarks, *sign_remarks, *_missing_targets(settled))


def ending_groups(bars: Sequence[Bar]) -> Iterator[range]:
    """The stretches of first, second … endings that belong together, as ranges of bar indices."""
    start = 0
    for index in range(1, len(bars) + 1):
        if index == len(bars) or _opens_group(bars, start, index):
            if bars[start].endings:
                yield range(start, index)
            start = index


def _opens_group(bars: Sequence[Bar], start: int, index: int) -> bool:
    """A bar opens a new group when endings begin or cease, or when a number comes again."""
    bar, before = bars[index], bars[index - 1]
    if not bar.endings or not before.endings:
        return True
    seen = {number for other in bars[start:index] for number in other.endings}
    is_new_ending = bar.endings != before.endings or before.ending_stops
    return is_new_ending and bool(seen.intersection(bar.endings))


def _settle_endings(bars: tuple[Bar, ...]) -> tuple[tuple[Bar, ...], tuple[ReadingRemark, ...]]:
    settled = list(bars)
    remarks: list[ReadingRemark] = []
    for group in ending_groups(bars):
        passes = _count_passes([bars[index] for index in group])
        for index in group:
            settled[index] = _with_passes(settled[index], passes)
            if bars[index].repeat_times and not settled[index].repeat_times:
                remarks.append(ReadingRemark(bars[index].number, _LAST_ENDING_REPEATS))
    return tuple(settled), tuple(remarks)


_LAST_ENDING_REPEATS = "The repeat sign at the end of the last ending leads nowhere: read as a double bar."


def _count_passes(group: Sequence[Bar]) -> int:
    """How often the repeated stretch is played; one ending with a repeat means that another pass follows."""
    last = max(number for bar in group for number in bar.endings)
    is_alone = len({bar.endings for bar in group}) == 1
    return last + 1 if is_alone and any(bar.repeat_times for bar in group) else last


def _with_passes(bar: Bar, passes: int) -> Bar:
    if not bar.repeat_times:
        return bar
    if min(bar.endings) < passes:
        return replace(bar, repeat_times=passes)
    barline = Barline.DOUBLE if bar.barline is Barline.REGULAR else bar.barline
    return replace(bar, repeat_times=0, barline=barline)


def _start_repeats(bars: tuple[Bar, ...], *, double_bars_bound: bool) -> tuple[Bar, ...]:
    """A repeat without a start goes back to the last repeat or the beginning: say so in the bar."""
    settled = list(bars)
    ends_of_groups = {group[0]: group[-1] for group in ending_groups(bars)}
    boundary, group_end = 0, -1
    for index, bar in enumerate(bars):
        group_end = ends_of_groups.get(index, group_end)
        if bar.starts_repeat:
            boundary = index
        if bar.repeat_times and boundary > 0:
            settled[boundary] = replace(settled[boundary], starts_repeat=True)
        if index >= group_end and _bounds_repeat(
            bar, is_in_group=bool(bar.endings), double=double_bars_bound
        ):
            boundary = index + 1
    return tuple(settled)


def _bounds_repeat(bar: Bar, *, is_in_group: bool, double: bool) -> bool:
    return is_in_group or bar.repeat_times > 0 or (double and bar.barline is not Barline.REGULAR)


def _leave_for_coda(bars: tuple[Bar, ...]) -> tuple[Bar, ...]:
    """Of two coda signs the first is the place to leave from, at the end of the bar before it."""
    signs = [bar.index for bar in bars if Jump.CODA in bar.jumps]
    settled = list(bars)
    for index in signs[:-1]:
        before = max(index - 1, 0)
        settled[index] = replace(settled[index], jumps=_without(settled[index].jumps, Jump.CODA))
        settled[before] = replace(settled[before], jumps=sort_jumps((*settled[before].jumps, Jump.TO_CODA)))
    return tuple(settled)


def _set_segno(bars: tuple[Bar, ...]) -> tuple[tuple[Bar, ...], tuple[ReadingRemark, ...]]:
    """A D.S. without a sign is played from the beginning, so there its sign is set."""
    turning = [bar for bar in bars if Jump.DAL_SEGNO in bar.jumps]
    if not turning or any(Jump.SEGNO in bar.jumps for bar in bars):
        return bars, ()
    first = replace(bars[0], jumps=sort_jumps((Jump.SEGNO, *bars[0].jumps)))
    remarks = (ReadingRemark(bar.number, _tell_no_segno(bar)) for bar in turning)
    return (first, *bars[1:]), tuple(remarks)


def _tell_no_segno(bar: Bar) -> str:
    return f"“{bar.jump_words or 'D.S.'}”: there is no segno to go back to; it was set at the beginning."


def _without(jumps: tuple[Jump, ...], gone: Jump) -> tuple[Jump, ...]:
    return tuple(jump for jump in jumps if jump is not gone)


def sort_jumps(jumps: Sequence[Jump]) -> tuple[Jump, ...]:
    """Each once: signs at the bar's start first, then those at its end."""
    unique = dict.fromkeys(jumps)
    return tuple(sorted(unique, key=lambda jump: (jump not in _AT_START, tuple(Jump).index(jump))))


def _missing_targets(bars: tuple[Bar, ...]) -> Iterator[ReadingRemark]:
    """Jumps that name a sign which is nowhere."""
    present = {jump for bar in bars for jump in bar.jumps}
    for bar in bars:
        words = bar.jump_words
        for word, jump, lack in _NEEDED:
            if f"al {word}" in words.lower() and jump not in present:
                yield ReadingRemark(bar.number, f"“{words}”: {lack}.")
