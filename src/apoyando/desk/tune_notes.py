"""The notes of a tune as it was understood, for the page on which they are put right.

Conventions: pitches and places as a plan file has them (docs/plan.md), ``words`` for people.
"""

from collections import defaultdict
from collections.abc import Sequence
from fractions import Fraction
from itertools import zip_longest

from apoyando.desk.touch_words import name_pitch
from apoyando.engraving import find_heads_of_song
from apoyando.model.beat import count_beat, name_count
from apoyando.model.note_values import VALUE_NAMES, name_value
from apoyando.model.pitch import Key, Mode, move_chromatically
from apoyando.model.song import MelodyNote, Song
from apoyando.model.time import Quarters

PlainNote = dict[str, str]
SHORTEST, LONGEST = Fraction(1, 4), Fraction(4)
"""Of the note values that are offered; any other can be written."""
_STEPS = {"up": 1, "down": -1, "octave_up": 12, "octave_down": -12}


def describe_tune(song: Song) -> tuple[PlainNote, ...]:
    """Each note in order: where it stands, what it is, its neighbours, and where another could follow."""
    heads: dict[int, list[str]] = defaultdict(list)
    for head, place in find_heads_of_song(song).items():
        heads[place].append(head)
    followers = zip_longest(song.melody, song.melody[1:])
    return tuple(
        _describe(song, note, after, heads[place])
        for place, (note, after) in enumerate(followers)
        if note is not None
    )


def _describe(song: Song, note: MelodyNote, after: MelodyNote | None, heads: Sequence[str]) -> PlainNote:
    bar = song.bar_at(note.onset)
    beat = count_beat(bar, note.onset)
    words = f"{name_pitch(note.pitch)}, {name_value(note.duration)}"
    return {
        "heads": " ".join(heads),
        "bar": bar.number,
        "beat": str(beat),
        "words": words,
        "place": f"bar {bar.number}, beat {name_count(beat)}",
        "pitch": str(note.pitch),
        "length": write_length(note.duration),
        **{
            name: str(move_chromatically(note.pitch, steps, bar.key.fifths)) for name, steps in _STEPS.items()
        },
        **_describe_place_after(song, note, after),
    }


def _describe_place_after(song: Song, note: MelodyNote, after: MelodyNote | None) -> PlainNote:
    """Where the note ends, if it is silent there; else half way through it."""
    until = after.onset if after else song.duration
    moment = note.offset if note.offset < until else note.onset + note.duration / 2
    bar = song.bar_at(moment)
    return {"after_bar": bar.number, "after_beat": str(count_beat(bar, moment))}


def write_length(quarters: Quarters) -> str:
    """A length as a plan file has it."""
    return VALUE_NAMES.get(quarters, str(quarters))


def list_lengths() -> tuple[str, ...]:
    return tuple(name for quarters, name in VALUE_NAMES.items() if SHORTEST <= quarters <= LONGEST)


def list_pickups(song: Song) -> tuple[tuple[str, str], ...]:
    """The pickups that there can be: as a plan file has them, and in words."""
    step = Fraction(1, 2)
    count = int(song.bars[0].meter.bar_length / step)
    lengths = (step * place for place in range(1, count))
    return tuple((write_length(length), name_value(length)) for length in lengths)


def list_written_keys() -> tuple[str, ...]:
    """The keys with up to seven signs, from the flattest to the sharpest."""
    return tuple(str(Key(fifths, mode)) for mode in (Mode.MAJOR, Mode.MINOR) for fifths in range(-7, 8))
