"""Places and chords as they stand in every report."""

from apoyando.engraving import plain_text, print_chord
from apoyando.model.beat import count_beat
from apoyando.model.harmony import HarmonySpan
from apoyando.model.score import Score
from apoyando.model.song import Bar, Song, bar_at
from apoyando.model.time import Quarters

Entry = dict[str, object]


def describe_source(song: Song | Score) -> Entry | None:
    """Which part is the melody; None where there is nothing to choose from."""
    source = song.melody_source if isinstance(song, Song) else None
    if source is None:
        return None
    return {"part": source.name, "reason": source.reason, "choices": list(source.choices)}


def name_chord(harmony: HarmonySpan) -> Entry:
    return {"chord": plain_text(print_chord(harmony.chord)), "origin": str(harmony.origin)}


def describe_remarks(song: Song | Score) -> list[Entry]:
    return [{"bar": remark.bar, "text": remark.text} for remark in song.remarks]


def place(bars: tuple[Bar, ...], onset: Quarters) -> Entry:
    bar = bar_at(bars, onset)
    return {"bar": bar.number, "beat": str(count_beat(bar, onset)), "onset_quarters": str(onset)}
