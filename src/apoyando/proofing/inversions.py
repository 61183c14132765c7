"""Every bass that is not its chord's own is told, and what is told of the line is true.

Written from ``docs/objective.md`` ("Another bass, and why"), without the arranger's code.
"""

from bisect import bisect_left, bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from apoyando.model.arrangement import Arrangement, Note, RelaxationStep, Role
from apoyando.model.harmony import Chord, ChordFunction, chord_tones
from apoyando.model.song import bar_at
from apoyando.model.time import Span
from apoyando.proofing.certificate import Breach, Witness
from apoyando.proofing.wording import name_note

_STEP = (1, 2)
_TOLD = {RelaxationStep.BASS_LINE, RelaxationStep.BASS_INVERSION}


@dataclass(frozen=True, slots=True)
class _Bass:
    """A bass, its chord, which of the piece's harmonies it stands in, and whether that enters in its bar with it."""

    note: Note
    chord: Chord
    harmony: int
    is_entry: bool

    @property
    def midi(self) -> int:
        return int(self.note.pitch.midi)

    @property
    def is_own(self) -> bool:
        """Whether it is the bass that the chord symbol asks for."""
        return self.midi % 12 == (self.chord.bass or self.chord.root).pitch_class

    def is_one_of(self, *functions: ChordFunction) -> bool:
        tones = chord_tones(self.chord)
        return self.midi % 12 in {t.name.pitch_class for t in tones if t.function in functions}


def find_untold_inversions(arrangement: Arrangement) -> Iterator[Witness]:
    basses = _list_basses(arrangement)
    told = {each.onset: each.step for each in arrangement.relaxations if each.step in _TOLD}
    for at, bass in enumerate(basses):
        step = told.pop(bass.note.onset, None)
        if step is None and bass.is_entry and not bass.is_own:
            yield _witness(arrangement, bass.note, "is not told")
        elif step and bass.is_own:
            yield _witness(arrangement, bass.note, "is told as another bass and is none")
        elif step is RelaxationStep.BASS_LINE and not _serves_line(basses, at):
            yield _witness(arrangement, bass.note, "is told to serve the line of the bass, and does not")


def _list_basses(arrangement: Arrangement) -> list[_Bass]:
    harmonies = _join(arrangement, within_bars=False)
    entries = {span.onset for span, _ in _join(arrangement, within_bars=True)}
    found = []
    for note in sorted(arrangement.voice(Role.BASS), key=lambda note: note.onset):
        number = bisect_right(harmonies, note.onset, key=lambda harmony: harmony[0].onset) - 1
        if number >= 0 and harmonies[number][0].contains(note.onset):
            found.append(_Bass(note, harmonies[number][1], number, note.onset in entries))
    return found


def _join(arrangement: Arrangement, *, within_bars: bool) -> list[tuple[Span, Chord]]:
    """The chords from when to when; a chord that is written again goes on, up to the barline at most if asked."""
    joined: list[tuple[Span, Chord]] = []
    lines = {bar.onset for bar in arrangement.bars} if within_bars else set()
    for span, chord in _cut_at_barlines(arrangement):
        last = joined[-1] if joined else None
        goes_on = last and last[0].offset == span.onset and last[1].is_same_as(chord)
        if last and goes_on and span.onset not in lines:
            joined[-1] = (Span(last[0].onset, span.offset), chord)
        else:
            joined.append((span, chord))
    return joined


def _cut_at_barlines(arrangement: Arrangement) -> Iterator[tuple[Span, Chord]]:
    bars = arrangement.bars
    for each in arrangement.harmony:
        first = bisect_right(bars, each.onset, key=lambda bar: bar.offset)
        for bar in bars[first : bisect_left(bars, each.offset, key=lambda bar: bar.onset)]:
            if each.chord:
                yield Span(max(each.onset, bar.onset), min(each.offset, bar.offset)), each.chord


def _serves_line(basses: Sequence[_Bass], at: int) -> bool:
    bass = basses[at]
    if bass.chord.bass:
        return False
    is_third, is_fifth, is_seventh = (
        bass.is_one_of(function)
        for function in (ChordFunction.THIRD, ChordFunction.FIFTH, ChordFunction.SEVENTH)
    )
    first = _find_first(basses, at)
    before = basses[first - 1] if first else None
    fall_before = before.midi - bass.midi if before else None
    comes_from_seventh = before and before.harmony != bass.harmony and before.is_one_of(ChordFunction.SEVENTH)
    comes_to_root = any(each.is_own and each.harmony == bass.harmony for each in basses[at + 1 :])
    is_told = bass.is_entry and any(each.is_own and each.harmony == bass.harmony for each in basses[:at])
    if (is_third or is_fifth) and is_told:
        return True
    if is_third and fall_before in _STEP and comes_from_seventh:
        return True
    if is_third and abs(fall_before or 0) in _STEP and comes_to_root:
        return True
    after = next((each for each in basses if each.harmony == bass.harmony + 1), None)
    if after is None:
        return False
    rise = after.midi - bass.midi
    has_seventh = any(tone.function is ChordFunction.SEVENTH for tone in chord_tones(bass.chord))
    leads = (is_third and rise in _STEP) or (is_seventh and -rise in _STEP)
    is_four_three = is_fifth and has_seventh and abs(rise) in _STEP
    is_named = is_third or is_fifth or is_seventh
    goes_by_step = is_named and abs(rise) in _STEP and abs(fall_before or 0) in _STEP
    becomes_own = is_fifth and rise == 0 and after.is_own
    is_pedal = rise == 0 and fall_before == 0
    return leads or is_four_three or goes_by_step or becomes_own or is_pedal


def _find_first(basses: Sequence[_Bass], at: int) -> int:
    """The first stroke of a bass that is struck several times in its harmony, with no other between."""
    first = at
    while first and (basses[first - 1].harmony, basses[first - 1].midi) == (
        basses[at].harmony,
        basses[at].midi,
    ):
        first -= 1
    return first


def _witness(arrangement: Arrangement, note: Note, fault: str) -> Witness:
    bar = bar_at(arrangement.bars, note.onset).number
    return Witness(
        breach=Breach.BASS_UNTOLD,
        bar=bar,
        onset=note.onset,
        offset=note.offset,
        sentence=f"Bar {bar}: the bass {name_note(note)} {fault}.",
        notes=(note,),
    )
