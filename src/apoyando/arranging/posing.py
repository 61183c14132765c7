"""A song moved to a key and laid out: what may sound when, and what the search is asked."""

from dataclasses import replace

from apoyando.arranging.asked_notes import add_asked_notes
from apoyando.arranging.keys import best_octave, transposition_to
from apoyando.arranging.melody import transpose_melody
from apoyando.arranging.plot import plot_voices
from apoyando.arranging.posed import PosedSong
from apoyando.arranging.recurrence import find_recurrences
from apoyando.arranging.setting import Setting
from apoyando.arranging.simplification import simplify_melody
from apoyando.arranging.slices import build_problem, cut_slices
from apoyando.arranging.texture import choose_textures, find_pace, lay_textures
from apoyando.model.errors import UsageError
from apoyando.model.instrument import TUNINGS, Tuning
from apoyando.model.level import Level
from apoyando.model.pitch import Interval, Key
from apoyando.model.plan import TEXTURES, Plan
from apoyando.model.prices import Prices
from apoyando.model.song import DEFAULT_TEMPO_QUARTERS_PER_MINUTE, Song


def pose_in_key(song: Song, plan: Plan, level: Level, key: Key) -> PosedSong:
    """What may sound when, for a song in one key; the plan's locks are not yet on it (``lock_song``).

    The song is one that has been prepared by the plan (``prepare_song``). Raises UsageError for
    a plan that cannot be meant.
    """
    tuning = check_plan(plan)
    prices = Prices().turned(plan.prices)
    simplified = simplify_melody(song, plan, level, prices)
    song = simplified.song
    octave = plan.melody_octave
    if octave is None:
        octave = best_octave(song, key, tuning, level, prices)
    interval = transposition_to(key, song, octave)
    tempo = song.tempo_quarters_per_minute or DEFAULT_TEMPO_QUARTERS_PER_MINUTE
    setting = Setting(tuning, level, prices, 60.0 / float(tempo), plan.capo)
    moved = _move_harmony(song, interval)
    highest = tuning.open_strings[0] + setting.last_fret
    melody = transpose_melody(replace(simplified, song=moved), interval, min(tuning.open_strings), highest)
    texture, textures = choose_textures(song, plan, level)
    laid = lay_textures(song, textures, find_pace(level, tempo), must_close=bool(plan.ending))
    windows = add_asked_notes([each.transposed(interval.fifths) for each in laid], moved, plan.locks)
    plot = plot_voices(melody.notes, windows, setting)
    slices = cut_slices(plot, song.duration)
    problem = build_problem(plot, slices, setting)
    if plan.same_fingering:
        problem = replace(problem, alike=find_recurrences(problem, slices, song.bars))
    return PosedSong(moved, setting, interval, melody, texture, textures, plot, slices, problem)


def check_plan(plan: Plan) -> Tuning:
    """The tuning that the plan names. Raises UsageError for a texture or a tuning that there is not."""
    for texture in (
        plan.texture or TEXTURES[0],
        *(section.texture or TEXTURES[0] for section in plan.sections),
    ):
        if texture not in TEXTURES:
            raise UsageError(f"texture {texture!r} is not known; there are: {', '.join(TEXTURES)}.")
    if plan.tuning not in TUNINGS:
        raise UsageError(f"tuning {plan.tuning!r} is not known; there are: {', '.join(TUNINGS)}.")
    return TUNINGS[plan.tuning]


def _move_harmony(song: Song, interval: Interval) -> Song:
    """The song with its chords and signatures in the new key; the melody as it was."""
    return replace(
        song,
        bars=tuple(replace(bar, key=bar.key.transposed(interval.fifths)) for bar in song.bars),
        harmony=tuple(
            replace(span, chord=span.chord.transposed(interval.fifths) if span.chord else None)
            for span in song.harmony
        ),
    )
