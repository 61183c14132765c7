"""From the plot to the slices that the search walks through."""

from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import combinations, pairwise

from apoyando.arranging.keys import over_level_price
from apoyando.arranging.plot import MelodyFloor, Plot, open_wants
from apoyando.arranging.room import has_room_for
from apoyando.arranging.setting import Setting
from apoyando.arranging.texture import InnerDue, Lasting, Need, Window
from apoyando.arranging.voice_leading import (
    Progress,
    add_tables,
    hand_over_prices,
    is_wanted_bass,
    line_prices,
    resolution_prices,
)
from apoyando.arranging.voices import (
    SEVENTH_BIT,
    THIRD_BIT,
    bass_inner_prices,
    bass_motion,
    inner_lines_prices,
    inner_motion,
    notes_of,
)
from apoyando.fingering import SILENT, Interplay, Problem, Slice, Succession, Table, VoiceSlice
from apoyando.model.instrument import LAST_FRET
from apoyando.model.prices import Prices
from apoyando.model.time import Moments, Quarters, Span, Spanned, in_order

MELODY_VOICE, BASS_VOICE, FIRST_INNER_VOICE = 0, 1, 2
"""In every slice the melody comes first, then the bass, then the inner lines from the lowest up."""

_KEPT = 1024
"""So many tables from note to note are kept: a song, and its twelve keys, come back to the same steps."""


@dataclass(frozen=True, slots=True)
class PlottedSlice(Spanned):
    """A slice's place in the plot: for each voice the index of its entry, None if silent."""

    span: Span
    melody: int | None
    bass: int | None
    inner: tuple[int | None, ...]
    window: int | None

    @property
    def entries(self) -> tuple[int | None, ...]:
        """The entries of all voices, in their order."""
        return (self.melody, self.bass, *self.inner)


def cut_slices(plot: Plot, end: Quarters) -> tuple[PlottedSlice, ...]:
    """Time cut wherever anything begins or ends, from 0 to the end of the piece."""
    spans: list[Span] = [note.span for note in plot.melody]
    spans += [due.span for due, _ in plot.bass] + [due.span for due, _ in plot.inner]
    spans += [window.span for window in plot.windows]
    written = [due.written_until for due, _ in plot.inner if due.written_until is not None]
    cuts = in_order([Quarters(0), end, *(s.onset for s in spans), *(s.offset for s in spans), *written])
    number = Moments(cuts)
    melody = _entries_by_slice(enumerate(note.span for note in plot.melody), number)
    bass = _entries_by_slice(enumerate(due.span for due, _ in plot.bass), number)
    inner = [
        _entries_by_slice(
            ((index, due.span) for index, (due, _) in enumerate(plot.inner) if due.line == line), number
        )
        for line in range(len(plot.roles) - FIRST_INNER_VOICE)
    ]
    windows = _entries_by_slice(enumerate(window.span for window in plot.windows), number)
    return tuple(
        PlottedSlice(Span(onset, offset), sung, low, between, window)
        for (onset, offset), sung, low, between, window in zip(
            pairwise(cuts), melody, bass, zip(*inner, strict=True), windows, strict=True
        )
    )


def _entries_by_slice(spans: Iterable[tuple[int, Span]], cuts: Moments) -> list[int | None]:
    """For each slice between the cuts the entry whose span it lies in."""
    entries: list[int | None] = [None] * (len(cuts) - 1)
    for index, span in spans:
        first, end = cuts.count_before(span.onset), cuts.count_before(span.offset)
        entries[first:end] = [index] * (end - first)
    return entries


@dataclass(frozen=True, slots=True)
class _TunePrices:
    """What it costs the tune to lie on each string, and at each fret: as a rule, and at a peak."""

    by_string: tuple[int, ...]
    by_fret: tuple[int, ...]
    by_fret_at_peak: tuple[int, ...]


def _price_tune(setting: Setting) -> _TunePrices:
    level, prices = setting.level, setting.prices
    low = prices.melody_string_low
    return _TunePrices(
        (0, 0, prices.melody_string_three, prices.melody_string_four, low, low),
        *(
            tuple(over_level_price(fret, level, prices, is_peak=is_peak) for fret in range(LAST_FRET + 1))
            for is_peak in (False, True)
        ),
    )


def build_problem(plot: Plot, slices: Sequence[PlottedSlice], setting: Setting) -> Problem:
    """The search's question, slice by slice."""
    floor, tune = MelodyFloor(plot.melody), _price_tune(setting)
    wants = [_wanted(window, floor, setting) for window in plot.windows]
    return Problem(
        tuple(
            _build_slice(
                before, now, plot, tune, wants[now.window] if now.window is not None else (), setting
            )
            for before, now in pairwise([None, *slices])
            if now is not None
        )
    )


def rebuild_slices(
    problem: Problem, plot: Plot, slices: Sequence[PlottedSlice], changed: Collection[int], setting: Setting
) -> Problem:
    """The question with the slices of the indices ``changed`` posed anew; the others are the same."""
    rebuilt, tune = list(problem.slices), _price_tune(setting)
    for index in changed:
        before = slices[index - 1] if index else None
        wanted = problem.slices[index].wanted
        rebuilt[index] = _build_slice(before, slices[index], plot, tune, wanted, setting)
    return replace(problem, slices=tuple(rebuilt))


def _wanted(window: Window, floor: MelodyFloor, setting: Setting) -> tuple[int, int]:
    """What it costs not to tell the third, and the seventh, of a window."""
    wants = open_wants(window, floor.sounding(window.span)) if window.is_told else {}
    third = next((tone for tone, bit in wants.items() if bit == THIRD_BIT), None)
    return (
        0 if third is None else _third_price(third, window, floor, setting),
        setting.prices.seventh_missing if SEVENTH_BIT in wants.values() else 0,
    )


def _third_price(third: int, window: Window, floor: MelodyFloor, setting: Setting) -> int:
    lowest = min(setting.tuning.open_strings)
    tunes = (floor.under(due.span) for due in window.inner)
    is_clear = is_wanted_bass(window.chord, third) or any(
        has_room_for((third,), window.chord, tune, range(lowest, tune)) for tune in tunes
    )
    return setting.prices.third_missing if is_clear else setting.prices.third_cramped_missing


def _build_slice(
    before: PlottedSlice | None,
    now: PlottedSlice,
    plot: Plot,
    tune: _TunePrices,
    wanted: tuple[int, ...],
    setting: Setting,
) -> Slice:
    bass = _bass_slice(before, now, plot, setting)
    inner = [_inner_slice(before, now, line, plot, setting) for line in range(len(now.inner))]
    return Slice(
        quarters=float(now.span.duration),
        seconds=round(float(now.span.duration) * setting.seconds_per_quarter, 4),
        voices=(_melody_slice(now, plot, tune), bass, *inner),
        interplay=tuple(_interplay(bass, inner, setting.prices)),
        successions=tuple(_hand_overs(before, now, plot, setting.prices)) if before else (),
        opens_window=before is None or before.window != now.window,
        wanted=wanted,
    )


def _hand_overs(before: PlottedSlice, now: PlottedSlice, plot: Plot, prices: Prices) -> Iterator[Succession]:
    """From the inner notes that end as a bass is struck."""
    if now.bass is None or before.bass == now.bass:
        return
    due, candidates = plot.bass[now.bass]
    for voice, (entry, entry_now) in enumerate(zip(before.inner, now.inner, strict=True), FIRST_INNER_VOICE):
        if entry is not None and entry != entry_now:
            due_before, candidates_before = plot.inner[entry]
            progress = Progress(
                due_before.chord, notes_of(candidates_before), due.chord, notes_of(candidates)
            )
            if table := hand_over_prices(progress, prices):
                yield Succession(voice, BASS_VOICE, table)


def _interplay(bass: VoiceSlice, inner: Sequence[VoiceSlice], prices: Prices) -> Iterator[Interplay]:
    """Bass and inner lines in pairs, as far as both may sound."""
    sounding = [(voice, line) for voice, line in enumerate(inner, FIRST_INNER_VOICE) if line.candidates]
    if bass.candidates:
        for voice, line in sounding:
            yield Interplay(BASS_VOICE, voice, bass_inner_prices(bass.candidates, line.candidates, prices))
    for (low, lower), (high, upper) in combinations(sounding, 2):
        yield Interplay(low, high, inner_lines_prices(lower.candidates, upper.candidates, prices))


def _melody_slice(now: PlottedSlice, plot: Plot, tune: _TunePrices) -> VoiceSlice:
    if now.melody is None:
        return SILENT
    note = plot.melody[now.melody]
    return VoiceSlice(
        candidates=plot.sung[now.melody],
        is_struck=note.onset == now.span.onset,
        string_prices=tune.by_string,
        fret_prices=tune.by_fret_at_peak if note.span in plot.peaks else tune.by_fret,
        sings=True,
    )


def _bass_slice(before: PlottedSlice | None, now: PlottedSlice, plot: Plot, setting: Setting) -> VoiceSlice:
    if now.bass is None:
        return SILENT
    due, candidates = plot.bass[now.bass]
    prices = setting.prices
    left = float(due.span.offset - now.span.onset)
    return VoiceSlice(
        candidates=candidates,
        is_struck=due.span.onset == now.span.onset,
        none_price=None if due.is_locked else prices.bass_missing,
        release_price=prices.bass_hold_lost + round(left * prices.bass_hold_lost_per_quarter),
        steps=_bass_steps(before, now, plot, prices),
    )


def _inner_slice(
    before: PlottedSlice | None, now: PlottedSlice, line: int, plot: Plot, setting: Setting
) -> VoiceSlice:
    entry = now.inner[line]
    if entry is None:
        return SILENT
    due, candidates = plot.inner[entry]
    return VoiceSlice(
        candidates=candidates,
        is_struck=due.span.onset == now.span.onset,
        none_price=None if due.is_locked else _missing_price(due.need, setting.prices),
        release_price=_release_price(due, now.span.onset, setting.prices),
        steps=_inner_steps(before.inner[line] if before else None, entry, plot, setting.prices),
    )


def _missing_price(need: Need, prices: Prices) -> int:
    return {
        Need.MOTION: prices.motion_gap,
        Need.CHORD: prices.chord_missing,
        Need.FULLNESS: prices.chord_thinned,
        Need.CRAMPED: prices.inner_cramped_missing,
        Need.COLOUR: 0,
    }[need]


def _release_price(due: InnerDue, moment: Quarters, prices: Prices) -> int | None:
    """What it costs to let an inner note go at a moment; None where it must be held."""
    if due.lasting is Lasting.LET_GO:
        left = float(due.span.offset - moment)
        return prices.inner_hold_lost + round(left * prices.inner_hold_lost_per_quarter)
    is_written = due.written_until is None or moment < due.written_until
    return None if is_written else prices.ring_lost


def _bass_steps(before: PlottedSlice | None, now: PlottedSlice, plot: Plot, prices: Prices) -> Table:
    if before is None or before.bass is None or now.bass is None or before.bass == now.bass:
        return ()
    step = None
    if before.melody is not None and now.melody is not None:
        step = (plot.melody[before.melody].pitch.midi, plot.melody[now.melody].pitch.midi)
    (due_before, candidates_before), (due, candidates) = plot.bass[before.bass], plot.bass[now.bass]
    progress = Progress(due_before.chord, notes_of(candidates_before), due.chord, notes_of(candidates))
    return _bass_prices(progress, step, prices, alternates=due.alternates)


@lru_cache(_KEPT)
def _bass_prices(
    progress: Progress, melody_step: tuple[int, int] | None, prices: Prices, *, alternates: bool
) -> Table:
    return add_tables(
        bass_motion(progress.before, progress.after, melody_step, prices, alternates=alternates),
        line_prices(progress, prices),
        resolution_prices(progress, prices),
    )


def _inner_steps(before: int | None, now: int, plot: Plot, prices: Prices) -> Table:
    """From the entry of a line before to its entry now."""
    if before is None or before == now:
        return ()
    (due_before, candidates_before), (due, candidates) = plot.inner[before], plot.inner[now]
    progress = Progress(due_before.chord, notes_of(candidates_before), due.chord, notes_of(candidates))
    return _inner_prices(progress, prices, may_repeat=due.may_repeat)


@lru_cache(_KEPT)
def _inner_prices(progress: Progress, prices: Prices, *, may_repeat: bool) -> Table:
    return add_tables(
        inner_motion(
            progress.before, progress.after, prices, is_change=progress.is_change, may_repeat=may_repeat
        ),
        resolution_prices(progress, prices),
    )
