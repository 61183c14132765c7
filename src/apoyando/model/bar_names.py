"""Bars as a player names them."""

from collections.abc import Iterable


def list_bars(numbers: Iterable[str]) -> str:
    """Bars as a player names them: "bar 3", "bars 3, 5–8"; each once, in the order given."""
    unique = tuple(dict.fromkeys(numbers))
    runs: list[list[str]] = []
    for number in unique:
        if runs and _follows(runs[-1][-1], number):
            runs[-1].append(number)
        else:
            runs.append([number])
    named = ", ".join(run[0] if len(run) == 1 else f"{run[0]}–{run[-1]}" for run in runs)
    return f"bar {named}" if len(unique) == 1 else f"bars {named}"


def _follows(before: str, after: str) -> bool:
    return before.isdecimal() and after.isdecimal() and int(after) == int(before) + 1
