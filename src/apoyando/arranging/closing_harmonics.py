"""The last chord on natural harmonics, where its tones lie on nodes of the strings.

The last note of the tune keeps its pitch and its length: it is touched where a string gives it.
Under it lie one or two more harmonics, open strings, and at most one stopped bass. What the hand
can do is asked of the search: a touching finger lies where one that presses at the same fret would
lie, and over several strings it lies flat.

Of chords that are equally good (``harmonic_chords``) the one that the hand takes with least effort is played.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import groupby, product

from apoyando.arranging.assembly import add_plucks, spell_in_chord
from apoyando.arranging.form import HARMONICS, tell_ending
from apoyando.arranging.harmonic_chords import Tone, list_chords, rank_chord
from apoyando.arranging.lock_places import find_span
from apoyando.arranging.posed import PosedSong
from apoyando.arranging.setting import Setting
from apoyando.arranging.touched import find_too_far
from apoyando.fingering import (
    Candidate,
    NoWayError,
    Problem,
    Restriction,
    Searcher,
    Slice,
    Solution,
    VoiceSlice,
)
from apoyando.model.arrangement import Arrangement, Note, Relaxation, RelaxationStep, Role
from apoyando.model.form import play_order
from apoyando.model.form_steps import FormAct
from apoyando.model.hand import FINGERS, Finger
from apoyando.model.harmony import Chord
from apoyando.model.instrument import Fret, Place
from apoyando.model.locks import AvoidFingerLock, FreeFingerLock, NoBarreLock
from apoyando.model.song import bar_at
from apoyando.model.time import Quarters, Span

_MOST_ASKED = 200
"""Chords, the best first: what is worse than so many others is no ending that anyone would want."""
_REPLACED = frozenset({
    RelaxationStep.INNER_DROPPED,
    RelaxationStep.BASS_LINE,
    RelaxationStep.BASS_SHORTENED,
    RelaxationStep.BASS_INVERSION,
    RelaxationStep.BASS_OCTAVE,
    RelaxationStep.BASS_DROPPED,
})  # fmt: skip


class _NotPossibleError(Exception):
    """Why it cannot be had, as a sentence without its end."""


@dataclass(frozen=True, slots=True)
class _Closing:
    """The time of the last chord: the tune's note, all that is struck from it on, and what ends as it begins."""

    melody: Note
    struck: tuple[Note, ...]
    before: tuple[Note, ...]
    span: Span
    chord: Chord


@dataclass(frozen=True, slots=True)
class _Fingered:
    price: int
    tones: tuple[Tone, ...]
    fingers: tuple[Finger, ...]


def close_on_harmonics(
    arrangement: Arrangement, posed: PosedSong, kind: str, hand_size: float
) -> Arrangement:
    """The arrangement with its last chord on natural harmonics, if that is asked for and can be had.

    Otherwise the last chord stays, and the form says why.
    """
    form = arrangement.form
    if kind != HARMONICS or form is None or not form.steps_of(FormAct.ENDING):
        return arrangement
    try:
        closing = _find_closing(arrangement, posed)
        best = _choose(closing, posed, hand_size)
    except _NotPossibleError as error:
        refused = f"{error}: the last chord is left as it is, without harmonics."
        return replace(arrangement, form=tell_ending(form, FormAct.NOT_DONE, refused))
    told = tell_ending(form, FormAct.ENDING, _tell(best))
    return replace(_put_in_place(arrangement, closing, best, posed.setting), form=told)


# --- where it would stand ------------------------------------------------------------


def _find_closing(arrangement: Arrangement, posed: PosedSong) -> _Closing:
    level = posed.setting.level
    if not level.harmonics:
        message = f"Level {level.name} has no natural harmonics"
        raise _NotPossibleError(message)
    bar = arrangement.bars[play_order(arrangement.bars)[-1]]
    melody = max(
        (note for note in arrangement.voice(Role.MELODY) if note.span.overlaps(bar.span)),
        key=lambda note: note.onset,
    )
    since = melody.onset
    struck = tuple(note for note in arrangement.notes if since <= note.onset < bar.offset)
    if any(note.onset < since < note.offset for note in arrangement.notes):
        message = "A note is held on into the last note of the tune"
        raise _NotPossibleError(message)
    if _is_locked(posed, Span(since, bar.offset)):
        message = "A lock settles something in the bar of the last chord"
        raise _NotPossibleError(message)
    span = Span(since, max(note.offset for note in struck))
    chord = next((each.chord for each in arrangement.harmony if _lasts_through(each.span, span)), None)
    if chord is None:
        message = "No one chord lasts through the last note of the tune"
        raise _NotPossibleError(message)
    before = tuple(note for note in arrangement.notes if note.onset < since == note.offset)
    return _Closing(melody, struck, before, span, chord)


def _lasts_through(chord: Span, note: Span) -> bool:
    return chord.onset <= note.onset and note.offset <= chord.offset


def _is_locked(posed: PosedSong, span: Span) -> bool:
    """Whether a note, a position or a shape is settled there; a finger that is kept free is no hindrance."""
    settling = (
        lock for lock in posed.locks if not isinstance(lock, FreeFingerLock | AvoidFingerLock | NoBarreLock)
    )
    return any(find_span(posed.song, lock).overlaps(span) for lock in settling)


# --- which tones ---------------------------------------------------------------------


def _choose(closing: _Closing, posed: PosedSong, hand_size: float) -> _Fingered:
    """The best chord that the hand can take. Raises _NotPossibleError."""
    chords = sorted(
        list_chords(closing.melody.pitch.midi, closing.chord, posed.setting),
        key=lambda tones: rank_chord(tones, closing.chord),
    )
    if not chords:
        message = f"Natural harmonics do not give {closing.melody.pitch} with a chord under it"
        raise _NotPossibleError(message)
    ask = _Hand(closing, posed, hand_size)
    for _, group in groupby(chords[:_MOST_ASKED], key=lambda tones: rank_chord(tones, closing.chord)):
        ways = [way for tones in group if (way := ask.finger(tones))]
        if ways:
            return min(ways, key=lambda way: way.price)
    message = "No hand reaches the harmonics of the last chord in time"
    raise _NotPossibleError(message)


# --- whether the hand can ------------------------------------------------------------


class _Hand:
    """Asks the search for the fingers of one chord after the other."""

    def __init__(self, closing: _Closing, posed: PosedSong, hand_size: float) -> None:
        setting = posed.setting
        self._closing, self._setting, self._hand_size = closing, setting, hand_size
        level = replace(setting.level, small_barres=True, spans_from_nearest=False)
        self._searcher = Searcher(
            tuning=setting.tuning, level=level, prices=setting.prices, hand_size=hand_size
        )
        self._restriction = Restriction(free_fingers=tuple(_free_fingers(posed, closing.span)))
        since = max((note.onset for note in closing.before), default=closing.span.onset)
        self._held_for = closing.span.onset - since
        held = [_pinned(note.place, setting, note.finger) for note in closing.before]
        self._held = held if held and self._solve([self._slice(held, self._held_for)]) else []

    def finger(self, tones: tuple[Tone, ...]) -> _Fingered | None:
        """The cheapest way to take a chord after what was before it; None where there is none.

        One finger touches all that lies at one fret, as players do; fingers of their own where it cannot.
        """
        frets = sorted({tone.place.fret for tone in tones if tone.is_touched})
        ways = [
            way
            for fingers in product(FINGERS, repeat=len(frets))
            if (way := self._ask(tones, dict(zip(frets, fingers, strict=True))))
        ]
        return min(ways, key=lambda way: way.price) if ways else self._ask(tones, {})

    def _ask(self, tones: tuple[Tone, ...], touching: Mapping[Fret, Finger]) -> _Fingered | None:
        closing, held = self._closing, self._held
        new = [
            _pinned(tone.place, self._setting, touching.get(tone.place.fret) if tone.is_touched else None)
            for tone in tones
        ]
        rest = VoiceSlice()
        slices = [self._slice([*held, *[rest] * len(new)], self._held_for)] if held else []
        slices.append(self._slice([*[rest] * len(held), *new], closing.span.duration, self._restriction))
        solution = self._solve(slices)
        if solution is None:
            return None
        chosen = solution.slices[-1].voices[len(held) :]
        fingers = tuple(Finger(choice.touch.finger) for choice in chosen if choice)
        way = _Fingered(solution.price, tones, fingers)
        notes = tuple(_notes(self._closing, way))
        return None if find_too_far(notes, self._setting.level, self._hand_size) else way

    def _solve(self, slices: Sequence[Slice]) -> Solution | None:
        try:
            return self._searcher.find_best_way(Problem(tuple(slices)), proof_rounds=0)
        except NoWayError:
            return None

    def _slice(
        self, voices: Sequence[VoiceSlice], quarters: Quarters, restriction: Restriction | None = None
    ) -> Slice:
        seconds = round(float(quarters) * self._setting.seconds_per_quarter, 4)
        return Slice(
            quarters=float(quarters),
            seconds=seconds,
            voices=tuple(voices),
            restriction=restriction or Restriction(),
        )


def _free_fingers(posed: PosedSong, span: Span) -> Iterator[Finger]:
    for lock in posed.locks:
        if isinstance(lock, FreeFingerLock | AvoidFingerLock) and find_span(posed.song, lock).overlaps(span):
            yield lock.finger


def _pinned(place: Place, setting: Setting, finger: Finger | None = None) -> VoiceSlice:
    """A voice that is struck at one place. A harmonic is asked for as what is stopped at its fret."""
    fingers = () if finger is None else (int(finger),)
    note = setting.tuning.note_at(place)
    candidate = Candidate(note, highest_fret=setting.last_fret, strings=(place.string,), fingers=fingers)
    return VoiceSlice(candidates=(candidate,), is_struck=True)


# --- what becomes of the piece -------------------------------------------------------


def _put_in_place(
    arrangement: Arrangement, closing: _Closing, best: _Fingered, setting: Setting
) -> Arrangement:
    """The chord in place of all that was struck there, and nothing told of what is gone."""
    kept = [note for note in arrangement.notes if note not in closing.struck]
    notes = add_plucks([*kept, *_notes(closing, best)], arrangement.bars, setting)
    since, until = closing.span.onset, closing.span.offset
    return replace(
        arrangement,
        notes=notes,
        barres=tuple(
            replace(barre, span=Span(barre.span.onset, min(barre.span.offset, since)))
            if barre.span.onset < since
            else barre
            for barre in arrangement.barres
            if not since <= barre.span.onset < until
        ),
        relaxations=(
            *(
                each
                for each in arrangement.relaxations
                if each.step not in _REPLACED or not since <= each.onset < until
            ),
            *_inversion(arrangement, closing, best),
        ),
        given_up_holds=tuple(each for each in arrangement.given_up_holds if not since <= each.onset < until),
    )


def _inversion(arrangement: Arrangement, closing: _Closing, best: _Fingered) -> Iterator[Relaxation]:
    bass = spell_in_chord(closing.chord, best.tones[-1].midi)
    if bass.name.pitch_class != closing.chord.root.pitch_class:
        why = f"{bass.name} is in the bass: no root lies under the harmonics of the last chord"
        bar = bar_at(arrangement.bars, closing.span.onset).number
        yield Relaxation(RelaxationStep.BASS_INVERSION, bar, closing.span.onset, why)


def _notes(closing: _Closing, best: _Fingered) -> Iterator[Note]:
    top, *under = zip(best.tones, best.fingers, strict=True)
    yield replace(
        closing.melody, place=top[0].place, finger=top[1], in_barre=False, is_harmonic=True, pluck=None
    )
    for tone, finger in under:
        yield Note(
            role=Role.BASS if tone is best.tones[-1] else Role.INNER,
            span=closing.span,
            pitch=spell_in_chord(closing.chord, tone.midi),
            place=tone.place,
            finger=finger,
            is_harmonic=tone.is_touched,
        )


def _tell(best: _Fingered) -> str:
    touched = [tone.place for tone in best.tones if tone.is_touched]
    places = ", ".join(f"string {place.string} at fret {place.fret}" for place in _upwards(touched))
    if len(touched) == 1:
        return f"The last note of the tune is a natural harmonic: {places}."
    return f"The last chord is on natural harmonics: {places}."


def _upwards(places: Iterable[Place]) -> list[Place]:
    return sorted(places, key=lambda place: -place.string)
