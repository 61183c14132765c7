"""Suspensions, other dissonances worth hearing, and the steps of the inner voice."""

from collections.abc import Iterator

from apoyando.model.arrangement import Role
from apoyando.model.song import Bar
from apoyando.teaching.lesson.facts import Facts
from apoyando.teaching.voice_leading import MotionKind, NonChordTone, Stay, ToneKind
from apoyando.teaching.wording import list_some, name_moment, name_note

ACCENTED = (ToneKind.SUSPENSION, ToneKind.RETARDATION, ToneKind.APPOGGIATURA, ToneKind.PEDAL)
"""The dissonances that are leant on or held; the others pass and are not told one by one."""
_NAMES = {Role.MELODY: "melody", Role.INNER: "inner voice", Role.BASS: "bass"}


def tell_dissonances(facts: Facts, bar: Bar) -> Iterator[str]:
    for tone in _tones(facts, bar):
        if tone.resolution:
            figure = f" {tone.figure}" if _is_one_step(tone.figure) else ""
            yield (
                f"{tone.kind.capitalize()}{figure} in the {_NAMES[tone.note.role]}: "
                f"{name_note(tone.note)} goes to {tone.resolution.pitch.name} "
                f"on {name_moment(facts.bars, tone.resolution.onset, bar)}{_tell_preparation(facts, tone, bar)}."
            )


def _is_one_step(figure: str) -> bool:
    """Whether both intervals are over one bass, so that the figure shows the step: "4–3", not "7–5"."""
    dissonance, _, resolution = figure.partition("–")
    return bool(figure) and abs(int(dissonance) - int(resolution)) == 1


def _tones(facts: Facts, bar: Bar) -> list[NonChordTone]:
    return [
        tone
        for tone in facts.studied.leading.tones
        if tone.kind in ACCENTED and bar.span.contains(tone.span.onset)
    ]


def _tell_preparation(facts: Facts, tone: NonChordTone, bar: Bar) -> str:
    if tone.preparation is None:
        return ""
    return f"; it is prepared on {name_moment(facts.bars, tone.preparation.onset, bar)}"


def tell_rung_dissonances(facts: Facts, bar: Bar) -> Iterator[str]:
    """Dissonances that reach their resolution only if they are let ring."""
    for tone in _tones(facts, bar):
        if tone.stay is Stay.CAN_RING:
            yield f"Let {name_note(tone.note)} ring until it resolves: it is written shorter."


def tell_broken_dissonances(facts: Facts, bar: Bar) -> Iterator[str]:
    """Dissonances that have to be let go before they resolve."""
    for tone in _tones(facts, bar):
        if tone.is_violated:
            yield f"{name_note(tone.note)} breaks off before it resolves."


def tell_inner_steps(facts: Facts, bar: Bar) -> Iterator[str]:
    """Inner notes that go on by step at a change of chord in the bar."""
    told = [
        f"{name_note(motion.before)} to {motion.after.pitch.name}"
        f"{' in the bass' if motion.after.role is Role.BASS else ''} "
        f"on {name_moment(facts.bars, motion.onset, bar)}"
        for motion in facts.studied.leading.motions
        if motion.kind is MotionKind.STEP and motion.sounds_on and bar.span.contains(motion.onset)
    ]
    if told:
        yield f"The inner voice goes by step: {list_some(told)}."


def tell_led_changes(facts: Facts) -> Iterator[str]:
    """The piece as a whole: at how many changes of chord the inner voice is led."""
    leading = facts.studied.leading
    if leading.changes:
        led = len({motion.onset for motion in leading.motions})
        yield (
            f"At {led} of {leading.changes} changes of chord the inner voice keeps its tone or goes on by step."
        )
