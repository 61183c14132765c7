"""Signatures that look wrong by one sharp or flat: told, and left as they are.

A tune in F whose file has no signature is read in C. It can be played all the same, but its page has a
flat before every B, and its key is called by the wrong name.
"""

from dataclasses import replace

from apoyando.model.form import play_order
from apoyando.model.harmony import Chord, chord_tones
from apoyando.model.pitch import MOST_FIFTHS, Key, Mode, PitchName
from apoyando.model.song import ReadingRemark, Song
from apoyando.reading.assembly import order_remarks

_MAJOR_THIRD_FIFTHS = 4
_LEADING_NOTE_FIFTHS, _FOURTH_FIFTHS = 5, -1
"""From a tonic, on the line of fifths: what a sharp more brings, and what a flat more brings."""


def remark_doubtful_key(song: Song) -> Song:
    """The song with a remark if its signature looks like that of a neighbouring key.

    The rule: one major key throughout; the first chord and the last one in the order of playing are
    the major chord of a neighbouring tonic; and the tone in which the two keys differ is sung at least
    as often as the neighbour has it.
    """
    key = song.key
    if key.mode is not Mode.MAJOR or any(bar.key != key for bar in song.bars):
        return song
    home = _find_home(song)
    for doubtful in (Key(key.fifths - 1, Mode.MAJOR), Key(key.fifths + 1, Mode.MAJOR)):
        is_written = abs(doubtful.fifths) <= MOST_FIFTHS
        if is_written and home == doubtful.tonic and _is_sung(song, doubtful, key):
            remark = ReadingRemark("", _word(key, doubtful))
            return replace(song, remarks=order_remarks((remark, *song.remarks), song.bars))
    return song


def _find_home(song: Song) -> PitchName | None:
    """The root of the major chord on which the piece begins and ends, None where there is no such."""
    last_bar = song.bars[play_order(song.bars)[-1]]
    chords = [span.chord for span in song.harmony if span.chord and span.onset < last_bar.offset]
    if not chords or not (_is_major(chords[0]) and _is_major(chords[-1])):
        return None
    return chords[0].root if chords[0].root == chords[-1].root else None


def _is_major(chord: Chord) -> bool:
    third = chord.root.transposed(_MAJOR_THIRD_FIFTHS)
    return chord.kind != "dominant" and third in {tone.name for tone in chord_tones(chord)}


def _is_sung(song: Song, doubtful: Key, key: Key) -> bool:
    """Whether the tone in which the keys differ is sung as often by its name in the doubtful one, or oftener."""
    wanted, written = _telling_tone(doubtful, key), _telling_tone(key, doubtful)
    names = [note.pitch.name for note in song.melody]
    return 0 < names.count(wanted) >= names.count(written)


def _telling_tone(key: Key, other: Key) -> PitchName:
    """The tone of a key that its neighbour has not."""
    return key.tonic.transposed(_LEADING_NOTE_FIFTHS if key.fifths > other.fifths else _FOURTH_FIFTHS)


def _word(key: Key, doubtful: Key) -> str:
    home = doubtful.tonic
    return (
        f"The signature is that of {key}, but the song begins and ends on the chord of {home}, and "
        f"{_telling_tone(doubtful, key)} is sung: if it is in {doubtful}, write it into the plan: "
        f'written_key = "{doubtful}".'
    )
