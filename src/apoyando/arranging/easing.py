"""The steps by which an accompaniment is made easier, whatever for."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace

from apoyando.arranging.posed import PosedSong
from apoyando.arranging.slices import BASS_VOICE, FIRST_INNER_VOICE
from apoyando.fingering import NOWHERE, Slice, VoiceSlice
from apoyando.model.arrangement import Arrangement, GivenUpHold, Relaxation, RelaxationStep
from apoyando.model.instrument import LAST_FRET
from apoyando.model.prices import Prices
from apoyando.model.song import bar_at
from apoyando.model.time import Quarters

_BASS_ONLY, _INNER_VOICES = slice(BASS_VOICE, FIRST_INNER_VOICE), slice(FIRST_INNER_VOICE, None)
_OPEN_ONLY = 0
"""A highest fret: what cannot be taken on an open string is left out at its price."""


@dataclass(frozen=True, slots=True)
class Step:
    """One way to make a bar easier. ``apply`` takes a slice, and whether a beat begins with it."""

    words: str
    apply: Callable[[Slice, bool, Prices], Slice]


def _seek_open_strings(slice_: Slice, _: bool, prices: Prices) -> Slice:
    """A stopped note of the accompaniment costs more, and no barre is laid."""
    charged = (0, *(prices.eased_stopped_note for _ in range(LAST_FRET)))
    open_sought = _with_voices(
        slice_,
        lambda voice: voice if voice.is_silent else replace(voice, fret_prices=charged),
        slice(BASS_VOICE, None),
    )
    return replace(open_sought, restriction=replace(slice_.restriction, allows_barre=False))


def _let_go(slice_: Slice, is_on_beat: bool, _: Prices) -> Slice:
    """What is held of the accompaniment may be let go for nothing at the next beat."""
    return _with_voices(slice_, _freed, slice(BASS_VOICE, None)) if is_on_beat else slice_


def _freed(voice: VoiceSlice) -> VoiceSlice:
    return replace(voice, release_price=0) if voice.is_held and voice.release_price is not None else voice


def _stop_no_inner(slice_: Slice, _: bool, __: Prices) -> Slice:
    return _with_voices(slice_, lambda voice: _up_to(voice, _OPEN_ONLY), _INNER_VOICES)


def _leave_out_inner(slice_: Slice, _: bool, __: Prices) -> Slice:
    return _with_voices(slice_, lambda voice: _up_to(voice, NOWHERE), _INNER_VOICES)


def _stop_no_bass(slice_: Slice, _: bool, __: Prices) -> Slice:
    return _with_voices(slice_, lambda voice: _up_to(voice, _OPEN_ONLY), _BASS_ONLY)


STEPS = (
    Step("open strings sought, no barre", _seek_open_strings),
    Step("the accompaniment let go after a beat where it binds the hand", _let_go),
    Step("inner notes on open strings only", _stop_no_inner),
    Step("no inner notes", _leave_out_inner),
    Step("basses on open strings only", _stop_no_bass),
)
"""In the order of what is lost, each on top of those before."""


def _with_voices(slice_: Slice, change: Callable[[VoiceSlice], VoiceSlice], which: slice) -> Slice:
    chosen = range(*which.indices(len(slice_.voices)))
    voices = (change(voice) if index in chosen else voice for index, voice in enumerate(slice_.voices))
    return replace(slice_, voices=tuple(voices))


def _up_to(voice: VoiceSlice, highest_fret: int) -> VoiceSlice:
    """The voice up to a fret; a note that the player has locked stays as it is."""
    if not voice.may_be_silent:
        return voice
    lower = tuple(
        replace(each, highest_fret=min(each.highest_fret, highest_fret)) for each in voice.candidates
    )
    return replace(voice, candidates=lower)


_GIVEN_UP_FROM = {
    RelaxationStep.BASS_SHORTENED: 2,
    RelaxationStep.INNER_DROPPED: 3,
    RelaxationStep.BASS_INVERSION: 5,
    RelaxationStep.BASS_DROPPED: 5,
}
"""After so many steps it is the easing that a thing was given up for."""
_WHY_GIVEN_UP = "to make the bar easier"


def tell_eased(
    arrangement: Arrangement, told: Iterable[Relaxation], steps_at: Callable[[Quarters], int]
) -> Arrangement:
    """The arrangement with ``told`` among its relaxations, and with the easing as the reason of what it cost.

    ``steps_at`` tells how many steps there are at a moment.
    """
    losses = (_explain_loss(each, steps_at(each.onset)) for each in arrangement.relaxations)
    return replace(
        arrangement,
        relaxations=tuple(sorted((*told, *losses), key=lambda relaxation: relaxation.onset)),
        given_up_holds=tuple(
            _explain_hold(hold, steps_at(hold.onset)) for hold in arrangement.given_up_holds
        ),
    )


def _explain_loss(loss: Relaxation, count: int) -> Relaxation:
    """What was given up where so many steps are; with the easing as its reason if it was for that."""
    is_wanted = count >= _GIVEN_UP_FROM.get(loss.step, len(STEPS) + 1)
    return replace(loss, reason=_WHY_GIVEN_UP) if is_wanted else loss


def _explain_hold(hold: GivenUpHold, count: int) -> GivenUpHold:
    """Likewise of a note that is let go."""
    is_wanted = count >= _GIVEN_UP_FROM[RelaxationStep.BASS_SHORTENED]
    return replace(hold, reason=_WHY_GIVEN_UP) if is_wanted else hold


def name_steps(count: int) -> str:
    """What was done, in words."""
    return "; ".join(step.words for step in STEPS[:count])


def ease_slice(posed: PosedSong, index: int, count: int) -> Slice:
    """A slice of the question after so many steps."""
    onset, eased = posed.slices[index].onset, posed.problem.slices[index]
    bar = bar_at(posed.song.bars, onset)
    is_on_beat = (onset - bar.onset) % bar.meter.pulse == 0
    for step in STEPS[:count]:
        eased = step.apply(eased, is_on_beat, posed.setting.prices)
    return eased
