"""Minor keys that a file calls major: many programs write "major" whatever the song."""

from dataclasses import replace

from apoyando.model.harmony import Chord
from apoyando.model.pitch import Key, Mode
from apoyando.model.song import ReadingRemark
from apoyando.reading.draft import Draft

_MINOR_THIRDS = frozenset(
    {
        "minor",
        "minor-seventh",
        "minor-sixth",
        "minor-ninth",
        "minor-11th",
        "minor-13th",
        "major-minor",
    },
)


def settle_minor_key(draft: Draft) -> Draft:
    """The draft in the relative minor, with a remark, if its chords begin or end there.

    The rule: one major key throughout, the last chord stands on the tonic of the relative
    minor, and it or the first chord is minor (a song in minor may end on a major chord).
    """
    keys = {bar.key for bar in draft.bars}
    chords = [chord.chord for chord in sorted(draft.chords, key=lambda chord: chord.onset) if chord.chord]
    if len(keys) != 1 or not chords:
        return draft
    key = keys.pop()
    minor = Key(key.fifths, Mode.MINOR)
    if key.mode is not Mode.MAJOR or not _is_at_home(chords[0], chords[-1], minor):
        return draft
    remark = ReadingRemark("", f"The file says {key}, the chords say {minor}: read as {minor}.")
    bars = tuple(replace(bar, key=minor) for bar in draft.bars)
    return replace(draft, bars=bars, remarks=(remark, *draft.remarks))


def _is_at_home(first: Chord, last: Chord, key: Key) -> bool:
    is_minor = last.kind in _MINOR_THIRDS or (first.root == key.tonic and first.kind in _MINOR_THIRDS)
    return last.root == key.tonic and is_minor
