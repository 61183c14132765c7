"""The tune of a piece alone, fingered so as to ask as little of its level as it can.

What this asks beyond the level is asked by the tune: no accompaniment is light enough to help.
"""

from dataclasses import replace

from apoyando.arranging.assembly import collect_barres, collect_played
from apoyando.arranging.plot import plot_voices
from apoyando.arranging.searchers import find_searcher
from apoyando.arranging.setting import Setting
from apoyando.arranging.slices import MELODY_VOICE, build_problem, cut_slices
from apoyando.fingering import NoWayError, Problem, Restriction
from apoyando.model.arrangement import Arrangement, Role
from apoyando.model.level import Level
from apoyando.model.prices import Prices
from apoyando.model.song import MelodyNote

_LEVEL_PRICES = (
    "shift",
    "shift_per_100_mm",
    "shift_hasty",
    "shift_over_level",
    "melody_over_level",
    "melody_over_level_per_fret",
)
_ABOVE_ALL = 10.0
"""So many times dearer, and no ease of the hand is bought with a limit passed."""


def _forbid_barres(problem: Problem) -> Problem:
    """One note at a time needs none, and a hand that lies flat reaches nowhere."""
    slices = (replace(each, restriction=Restriction(allows_barre=False)) for each in problem.slices)
    return replace(problem, slices=tuple(slices))


def finger_tune_alone(arrangement: Arrangement, level: Level, hand_size: float = 1.0) -> Arrangement | None:
    """The piece with its tune alone, at the pitch that it has there; None where no such hand can play it."""
    tune = sorted(arrangement.voice(Role.MELODY), key=lambda note: note.onset)
    prices = Prices().turned(dict.fromkeys(_LEVEL_PRICES, _ABOVE_ALL))
    seconds_per_quarter = 60.0 / float(arrangement.tempo_quarters_per_minute)
    setting = Setting(arrangement.tuning, level, prices, seconds_per_quarter, arrangement.capo)
    plot = plot_voices([MelodyNote(span=note.span, pitch=note.pitch) for note in tune], (), setting)
    slices = cut_slices(plot, arrangement.bars[-1].offset)
    problem = _forbid_barres(build_problem(plot, slices, setting))
    try:
        chosen = find_searcher(setting, hand_size).find_best_way(problem).slices
    except NoWayError:
        return None
    played = collect_played(slices, chosen, MELODY_VOICE)
    notes = (
        replace(
            note,
            place=one.touches[0].touch.place,
            finger=one.touches[0].touch.finger,
            in_barre=one.in_barre,
            is_harmonic=False,
            pluck=None,
        )
        for note, one in zip(tune, played, strict=True)
    )
    return replace(arrangement, notes=tuple(notes), barres=collect_barres(slices, chosen))
