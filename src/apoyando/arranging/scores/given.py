"""The search's question for a score: every note is given, only the hand is free.

Written lengths are held: for the melody always, for bass and inner notes at the price of
letting go. Where even so there is no way for the hand, notes are *eased*: the melody may
end early, what is written of the fingering may be let go, and a note may be left out (inner
note, bass, melody), each at a price that no other price reaches, in this order.
"""

from bisect import bisect_right
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from apoyando.arranging.scores.sounds import Sound, lay_lines
from apoyando.arranging.scores.wishes import Wish
from apoyando.arranging.setting import Setting
from apoyando.fingering import SILENT, UNRESTRICTED, Candidate, Problem, Restriction, Slice, VoiceSlice
from apoyando.model.arrangement import Role
from apoyando.model.hand import Finger
from apoyando.model.instrument import LAST_FRET
from apoyando.model.prices import Prices
from apoyando.model.score import Score, WrittenBarre
from apoyando.model.time import Quarters, Span, Spanned

MELODY_CUT, MELODY_CUT_PER_QUARTER = 3_000, 500
"""An eased melody note that is let go before its end, and for each quarter that is lost."""
FINGERING_LET_GO = 20_000
"""What is written of an eased note's fingering does not count."""
NOTE_LEFT_OUT = {Role.INNER: 100_000, Role.BASS: 200_000, Role.MELODY: 400_000}
"""An eased note is not played."""


@dataclass(frozen=True, slots=True)
class GivenSlice(Spanned):
    """A stretch of time in which nothing begins or ends; for each line the index of its sound."""

    span: Span
    sounds: tuple[int | None, ...]


@dataclass(frozen=True, slots=True)
class Question:
    """What is asked of the hand. ``wishes`` run along with ``sounds``; the barres are as in ``Score``."""

    sounds: tuple[Sound, ...]
    wishes: tuple[Wish, ...]
    slices: tuple[GivenSlice, ...]
    barres: tuple[WrittenBarre, ...]
    names_barres: bool


def pose(sounds: Sequence[Sound], wishes: Sequence[Wish], score: Score) -> Question:
    """The question for these sounds of a score, from 0 to its end."""
    cuts = sorted({Quarters(0), score.duration, *(s.onset for s in sounds), *(s.offset for s in sounds)})
    rows = _rows(sounds)
    slices = tuple(
        GivenSlice(Span(onset, offset), tuple(_sounding(row, sounds, onset) for row in rows))
        for onset, offset in pairwise(cuts)
    )
    return Question(tuple(sounds), tuple(wishes), slices, score.barres, score.names_barres)


def _rows(sounds: Sequence[Sound]) -> list[list[int]]:
    """For each line its sounds in order; one line at least, for the search walks on even in silence."""
    lines = lay_lines(sounds)
    rows: list[list[int]] = [[] for _ in range(max(lines, default=0) + 1)]
    for index, line in enumerate(lines):
        rows[line].append(index)
    return rows


def _sounding(row: Sequence[int], sounds: Sequence[Sound], moment: Quarters) -> int | None:
    place = bisect_right(row, moment, key=lambda index: sounds[index].onset) - 1
    return row[place] if place >= 0 and sounds[row[place]].span.contains(moment) else None


def build_given_problem(question: Question, setting: Setting, eased: Collection[int] = ()) -> Problem:
    """The question in the search's terms; ``eased`` are indices of sounds."""
    return Problem(
        tuple(
            Slice(
                quarters=float(slice_.duration),
                seconds=round(float(slice_.duration) * setting.seconds_per_quarter, 4),
                voices=tuple(_voice(index, slice_, question, setting, eased) for index in slice_.sounds),
                restriction=_restriction(slice_, question, eased),
            )
            for slice_ in question.slices
        )
    )


def _restriction(slice_: GivenSlice, question: Question, eased: Collection[int]) -> Restriction:
    """A written barre lies from its name to the end of its bracket, where a note is written for it.

    Before and after, a note that finger 1 holds there is held with the tip; and everywhere else in a
    score that names its barres. But two notes at once for finger 1 can only lie under a barre, named
    or not, and where a finger is not written it may be any.
    """
    sounding = [index for index in slice_.sounds if index is not None]
    if any(index in eased for index in sounding):
        return UNRESTRICTED
    meant = [barre for barre in question.barres if _is_meant(barre, sounding, question)]
    lying = [barre for barre in meant if barre.span.contains(slice_.onset)]
    if lying:
        return Restriction(barre_fret=lying[-1].fret)
    wishes = [question.wishes[index] for index in sounding]
    says_all = question.names_barres and all(wish.is_fingered for wish in wishes)
    takes_two = sum(wish.as_written.fingers == (int(Finger.INDEX),) for wish in wishes) > 1
    return Restriction(barre_fret=0) if (meant or says_all) and not takes_two else UNRESTRICTED


def _is_meant(barre: WrittenBarre, sounding: Iterable[int], question: Question) -> bool:
    """Whether one of these sounds is written for finger 1 at the barre's fret while it lies."""
    return any(
        question.wishes[index].is_pressed_at(barre.fret, Finger.INDEX)
        for index in sounding
        if question.sounds[index].span.overlaps(barre.span)
    )


def _voice(
    index: int | None, slice_: GivenSlice, question: Question, setting: Setting, eased: Collection[int]
) -> VoiceSlice:
    if index is None:
        return SILENT
    sound, wish, is_eased = question.sounds[index], question.wishes[index], index in eased
    sings = sound.sung_until is not None
    return VoiceSlice(
        candidates=_candidates(wish, is_eased=is_eased),
        is_struck=sound.onset == slice_.onset,
        none_price=NOTE_LEFT_OUT[_role(sound)] if is_eased else None,
        release_price=_release_price(sound, slice_.onset, setting.prices, is_eased=is_eased),
        string_prices=_melody_strings(setting.prices) if sings else (),
        fret_prices=_fret_prices(setting, sings=sings),
        sings=sings,
    )


def _role(sound: Sound) -> Role:
    """A unison that the melody shares is the melody's."""
    return sound.role if sound.sung_until is None else Role.MELODY


def _candidates(wish: Wish, *, is_eased: bool) -> tuple[Candidate, ...]:
    if not (is_eased and wish.is_bound):
        return (wish.as_written,)
    return wish.as_written, replace(wish.free, price=FINGERING_LET_GO)


def _release_price(sound: Sound, moment: Quarters, prices: Prices, *, is_eased: bool) -> int | None:
    """What it costs to let go now; None where the melody must last."""
    left = float(sound.offset - moment)
    if sound.sung_until is not None and moment < sound.sung_until:
        return MELODY_CUT + round(left * MELODY_CUT_PER_QUARTER) if is_eased else None
    return prices.bass_hold_lost + round(left * prices.bass_hold_lost_per_quarter)


def _melody_strings(prices: Prices) -> tuple[int, ...]:
    low = prices.melody_string_low
    return (0, 0, prices.melody_string_three, prices.melody_string_four, low, low)


def _fret_prices(setting: Setting, *, sings: bool) -> tuple[int, ...]:
    """Notes above the level's frets are given too, and cost what the melody costs there."""
    level = setting.level
    highest = level.melody_highest_fret if sings else level.accompaniment_highest_fret
    per_fret = setting.prices.melody_over_level_per_fret
    return tuple(max(fret - highest, 0) * per_fret for fret in range(LAST_FRET + 1))
