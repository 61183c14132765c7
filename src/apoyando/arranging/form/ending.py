"""The last chord, under a fermata or rolled; that it is struck and held is the texture's.

On natural harmonics it is set once the hand is known (``closing_harmonics``); here it is announced.

It falls on the last note of the tune, in the bar in which the piece ends when it is played.
"""

from dataclasses import dataclass, replace

from apoyando.model.arrangement import Arrangement
from apoyando.model.form import play_order
from apoyando.model.form_steps import Form, FormAct, FormStep
from apoyando.model.song import Song
from apoyando.model.time import Quarters

FERMATA, ROLLED_CHORD, HARMONICS = "fermata", "rolled-chord", "harmonics"
_SENTENCES = {
    FERMATA: "The last chord is held.",
    ROLLED_CHORD: "The last chord is rolled.",
    HARMONICS: "The last chord is on natural harmonics.",
}


@dataclass(frozen=True, slots=True)
class _Final:
    """The last note of the tune by its index, and the last bar by its."""

    note: int
    bar: int


def _find_final(song: Song) -> _Final | None:
    """None where the tune is silent in the last bar."""
    bar = song.bars[play_order(song.bars)[-1]]
    sounding = [index for index, note in enumerate(song.melody) if note.span.overlaps(bar.span)]
    return _Final(sounding[-1], bar.index) if sounding else None


def end_song(song: Song, kind: str) -> tuple[Song, tuple[FormStep, ...]]:
    """The song with the ending that is asked for: the fermata is the tune's, the roll comes with the notes."""
    if not kind:
        return song, ()
    final = _find_final(song)
    if final is None:
        refused = "The tune is silent in the last bar: the ending is left as it is."
        return song, (FormStep(act=FormAct.NOT_DONE, sentence=refused),)
    step = FormStep(act=FormAct.ENDING, sentence=_SENTENCES[kind], bar=final.bar)
    if kind == FERMATA:
        last = replace(song.melody[final.note], has_fermata=True)
        song = replace(song, melody=(*song.melody[: final.note], last, *song.melody[final.note + 1 :]))
    return song, (step,)


def mark_ending(arrangement: Arrangement, kind: str) -> Arrangement:
    """The arrangement with its last chord rolled, if that is asked for and there is more than one note."""
    form = arrangement.form
    if kind != ROLLED_CHORD or form is None or not form.steps_of(FormAct.ENDING):
        return arrangement
    struck = _last_strike(arrangement)
    if len([note for note in arrangement.notes if note.onset == struck]) <= 1:
        refused = "The last note stands alone: there is nothing to roll."
        return replace(arrangement, form=tell_ending(form, FormAct.NOT_DONE, refused))
    notes = (replace(note, is_rolled=note.onset == struck) for note in arrangement.notes)
    return replace(arrangement, notes=tuple(notes))


def _last_strike(arrangement: Arrangement) -> Quarters | None:
    """When the last chord is struck in the bar in which the piece ends; None where nothing is."""
    bar = arrangement.bars[play_order(arrangement.bars)[-1]]
    struck = (note.onset for note in arrangement.notes if bar.span.contains(note.onset))
    return max(struck, default=None)


def tell_ending(form: Form, act: FormAct, sentence: str) -> Form:
    """The form with another word on its ending: how it is done, or that it is not done."""
    steps = (
        FormStep(act=act, sentence=sentence, bar=step.bar if act is FormAct.ENDING else 0)
        if step.act is FormAct.ENDING
        else step
        for step in form.steps
    )
    return replace(form, steps=tuple(steps))
