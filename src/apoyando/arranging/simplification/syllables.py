"""Syllables of notes that are left out: they join those of the note that is kept."""

from collections.abc import Iterable

from apoyando.model.song import Lyric

_OPENS_WORD = {"single", "begin"}
_CLOSES_WORD = {"single", "end"}
_SYLLABIC = {(True, True): "single", (True, False): "begin", (False, True): "end", (False, False): "middle"}


def join_lyrics(lyrics: Iterable[Lyric]) -> tuple[Lyric, ...]:
    """One syllable for each verse, verses in order; words are parted by a space."""
    joined: dict[int, Lyric] = {}
    for lyric in lyrics:
        before = joined.get(lyric.verse)
        joined[lyric.verse] = lyric if before is None else _join(before, lyric)
    return tuple(joined[verse] for verse in sorted(joined))


def _join(before: Lyric, lyric: Lyric) -> Lyric:
    gap = " " if before.syllabic in _CLOSES_WORD else ""
    syllabic = _SYLLABIC[before.syllabic in _OPENS_WORD, lyric.syllabic in _CLOSES_WORD]
    return Lyric(before.verse, f"{before.text}{gap}{lyric.text}", syllabic)
