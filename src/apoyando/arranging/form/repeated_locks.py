"""Locks and sections in a piece that is laid out anew: what is settled for a bar holds each time it comes."""

from collections.abc import Iterator, Sequence
from dataclasses import replace

from apoyando.model.form_steps import Form, FormAct
from apoyando.model.locks import Lock, NoteLock, Stretch
from apoyando.model.plan import Plan, Section
from apoyando.model.song import Song

_Numbered = tuple[int, str]
"""A bar of the piece: the index of its source, and its printed number."""


def lay_out_locks(plan: Plan, song: Song, piece: Song, form: Form | None) -> Plan:
    """The plan with each lock and section on every coming of its bars. ``piece`` is the song laid out.

    One whose bars are not among the song's, as those of an introduction, stays as it is.
    """
    if form is None:
        return plan
    introduction = sum(step.times for step in form.steps_of(FormAct.INTRODUCTION))
    rows = [
        (source, bar.number)
        for source, bar in zip(form.sources, piece.bars, strict=True)
        if source is not None and bar.index >= introduction
    ]
    locks = (each for lock in plan.locks for each in _repeat_lock(lock, song, rows))
    sections = (each for section in plan.sections for each in _repeat_section(section, song, rows))
    return replace(plan, locks=tuple(locks), sections=tuple(sections))


def _repeat_section(section: Section, song: Song, rows: Sequence[_Numbered]) -> Iterator[Section]:
    runs = _runs_of(Stretch(bar=section.bar, to_bar=section.to_bar), song, rows)
    if not runs:
        yield section
    for run in runs:
        yield replace(section, bar=run[0][1], to_bar=run[-1][1] if len(run) > 1 else "")


def _runs_of(stretch: Stretch, song: Song, rows: Sequence[_Numbered]) -> list[list[_Numbered]]:
    """The stretches of the piece that a stretch of the song has become; none where it is not the song's."""
    first, last = (_find_index(song, number) for number in (stretch.bar, stretch.to_bar or stretch.bar))
    return [] if first is None or last is None else list(_find_runs(rows, first, last))


def _repeat_lock(lock: Lock, song: Song, rows: Sequence[_Numbered]) -> Iterator[Lock]:
    stretch = Stretch(bar=lock.bar) if isinstance(lock, NoteLock) else lock.stretch
    first, last = (_find_index(song, number) for number in (stretch.bar, stretch.to_bar or stretch.bar))
    runs = _runs_of(stretch, song, rows)
    if not runs:
        yield lock
    for run in runs:
        if isinstance(lock, NoteLock):
            yield replace(lock, bar=run[0][1])
        else:
            yield replace(
                lock, stretch=_on_run(stretch, run, first=run[0][0] == first, last=run[-1][0] == last)
            )


def _find_index(song: Song, number: str) -> int | None:
    """None where no bar or several have this number."""
    found = [bar.index for bar in song.bars if bar.number == number]
    return found[0] if len(found) == 1 else None


def _find_runs(rows: Sequence[_Numbered], first: int, last: int) -> Iterator[list[_Numbered]]:
    """The stretches of the piece whose bars lie between two bars of the song, in its order."""
    run: list[_Numbered] = []
    for source, number in rows:
        if run and source != run[-1][0] + 1:
            yield run
            run = []
        if first <= source <= last:
            run.append((source, number))
        elif run:
            yield run
            run = []
    if run:
        yield run


def _on_run(stretch: Stretch, run: Sequence[_Numbered], *, first: bool, last: bool) -> Stretch:
    """``first`` and ``last``: the run begins and ends with the stretch's own bars, to which its beats belong."""
    return Stretch(
        bar=run[0][1],
        to_bar=run[-1][1] if len(run) > 1 else "",
        beat=stretch.beat if first else None,
        until_beat=stretch.until_beat if last else None,
    )
