"""A score's notes as the guitar sounds them: roles, unisons, lines.

Roles. The voice that lies highest is the melody, the one that lies lowest the bass, all
others are inner voices; where two lie equally high the lower number comes first. A voice
with less than a tenth of the notes is neither. Of a chord in the melody's voice the top
note is the melody, of one in the bass's voice the lowest is the bass; the rest is inner.

Sounds. Notes of one pitch that begin together are one sound, as long as the longest.

Lines. The search walks through lines in each of which one sound follows the other; any
sound takes the first line that is free.
"""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import groupby

from apoyando.model.arrangement import Role
from apoyando.model.instrument import STRINGS
from apoyando.model.pitch import MidiNote
from apoyando.model.score import Given, Score, ScoreNote
from apoyando.model.time import Quarters, Span, Spanned

_SHARE_OF_A_ROLE = 10
"""A voice has its role from a tenth of all notes on."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Sound(Spanned):
    """One sound of the guitar. ``notes`` are indices into the score's notes, the longest first.

    ``is_harmonic``: it is touched and not stopped.
    ``sung_until`` is where the melody that it sounds ends, None if it sounds none.
    """

    notes: tuple[int, ...]
    span: Span
    midi: MidiNote
    role: Role
    sung_until: Quarters | None
    given: Given
    is_harmonic: bool = False


@dataclass(frozen=True, slots=True)
class Excess:
    """A sound that a guitar has no string for, at the moment at which one too many begins.

    ``sound`` is whole; it ends at ``moment``, or is never struck if it begins there.
    """

    sound: Sound
    moment: Quarters


def gather_sounds(score: Score) -> tuple[Sound, ...]:
    """The sounds of a score in order of onset, from the highest down."""
    roles = find_roles(score)
    together: defaultdict[tuple[Quarters, int], list[int]] = defaultdict(list)
    for index, note in enumerate(score.notes):
        together[note.onset, note.pitch.midi].append(index)
    return tuple(_sound(score, indices, roles) for indices in together.values())


def _sound(score: Score, indices: Sequence[int], roles: Sequence[Role]) -> Sound:
    longest_first = sorted(
        indices, key=lambda index: (-score.notes[index].duration, score.notes[index].voice)
    )
    lead = score.notes[longest_first[0]]
    sung = [score.notes[index].offset for index in indices if roles[index] is Role.MELODY]
    return Sound(
        notes=tuple(longest_first),
        span=lead.span,
        midi=lead.pitch.midi,
        role=roles[longest_first[0]],
        sung_until=max(sung, default=None),
        is_harmonic=lead.is_harmonic,
        given=_common_given([score.notes[index].given for index in longest_first]),
    )


def _common_given(said: Sequence[Given]) -> Given:
    """What is said in any voice; the longest note's word comes first."""
    return Given(
        string=next((given.string for given in said if given.string is not None), None),
        fret=next((given.fret for given in said if given.fret is not None), None),
        finger=next((given.finger for given in said if given.finger is not None), None),
        pluck=next((given.pluck for given in said if given.pluck), None),
        is_guided=max((given.is_guided for given in said if given.is_guided is not None), default=None),
    )


# --- roles ---------------------------------------------------------------------------


def find_roles(score: Score) -> list[Role]:
    """The role of each note of the score: what the source names, else by the voices."""
    roles = [Role.INNER] * len(score.notes)
    melody, bass = _outer_voices(score)
    entries = list(enumerate(score.notes))
    for index in _line([entry for entry in entries if entry[1].voice == melody], sign=-1):
        roles[index] = Role.MELODY
    if bass != melody:
        for index in _line([entry for entry in entries if entry[1].voice == bass], sign=1):
            roles[index] = Role.BASS
    return [note.role or role for note, role in zip(score.notes, roles, strict=True)]


def _outer_voices(score: Score) -> tuple[int, int]:
    """The voices that lie highest and lowest."""
    notes = {voice: tuple(score.in_voice(voice)) for voice in score.voices}
    weighty = [voice for voice in notes if len(notes[voice]) * _SHARE_OF_A_ROLE >= len(score.notes)]
    heights = {voice: _mean_height(notes[voice]) for voice in weighty}
    melody = max(weighty, key=lambda voice: (heights[voice], -voice))
    return melody, min(weighty, key=lambda voice: (heights[voice], -voice))


def _mean_height(notes: Iterable[ScoreNote]) -> Quarters:
    """Mean pitch, weighted by length."""
    listed = list(notes)
    total = sum((note.duration for note in listed), Quarters(0))
    return sum((note.pitch.midi * note.duration for note in listed), Quarters(0)) / total


def _line(entries: Sequence[tuple[int, ScoreNote]], *, sign: int) -> Iterable[int]:
    """Of each chord the outermost note, where the one before has ended."""
    free_from = Quarters(0)
    ordered = sorted(entries, key=lambda entry: (entry[1].onset, sign * entry[1].pitch.midi))
    for onset, chord in groupby(ordered, key=lambda entry: entry[1].onset):
        index, note = next(chord)
        if onset >= free_from:
            free_from = note.offset
            yield index


# --- lines ---------------------------------------------------------------------------


def fit_strings(sounds: Sequence[Sound]) -> tuple[tuple[Sound, ...], tuple[Excess, ...]]:
    """No more sounds at once than strings: older accompaniment ends, then the lowest inner note goes."""
    kept: dict[int, Sound] = {}
    excess: list[Excess] = []
    sounding: list[int] = []
    for number, sound in enumerate(sounds):
        kept[number] = sound
        sounding = [*(other for other in sounding if kept[other].offset > sound.onset), number]
        if len(sounding) > len(STRINGS):
            spared = min(sounding, key=lambda other: _worth(kept[other]))
            excess.append(Excess(kept[spared], sound.onset))
            sounding.remove(spared)
            _cut(kept, spared, sound.onset)
    return tuple(kept.values()), tuple(excess)


def _worth(sound: Sound) -> tuple[bool, bool, Quarters, int]:
    """What is spared first: not the melody, not the bass, the oldest, the lowest."""
    return sound.sung_until is not None, sound.role is Role.BASS, sound.onset, sound.midi


def _cut(kept: dict[int, Sound], number: int, moment: Quarters) -> None:
    sound = kept[number]
    if sound.onset == moment:
        del kept[number]
    else:
        kept[number] = replace(sound, span=Span(sound.onset, moment))


def lay_lines(sounds: Sequence[Sound]) -> tuple[int, ...]:
    """For each sound the number of its line, from 0."""
    free_from: list[Quarters] = []
    lines: list[int] = []
    for sound in sounds:
        line = next(
            (place for place, moment in enumerate(free_from) if moment <= sound.onset), len(free_from)
        )
        free_from[line : line + 1] = [sound.offset]
        lines.append(line)
    return tuple(lines)
