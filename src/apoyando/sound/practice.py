"""The practice set: what a player listens to and plays along with, from the tuning to the hard bars.

Conventions: speeds in percent of the piece's tempo; tracks are counted from 1, in the order in
which they are listened to.
"""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from apoyando.model.arrangement import Arrangement
from apoyando.model.form import play_order
from apoyando.model.instrument import TUNINGS, Tuning
from apoyando.sound.audio_file import AudioFormat, Tags, encode_audio
from apoyando.sound.cues import CueSheet, plan_cues
from apoyando.sound.midi import write_midi
from apoyando.sound.mix import (
    BOTH,
    MELODY_OVER_DB,
    ROLES,
    Balance,
    Voice,
    balance_cues,
    find_balance,
    render_mix,
)
from apoyando.sound.performance import perform
from apoyando.sound.takes import Take, repeat_take, with_clicks, with_count_in
from apoyando.sound.tuning import make_tuning_piece

SLOW_PERCENT = (50, 60, 75, 90)
LOOP_PERCENT = 60
LOOP_TIMES = 8
"""Often enough to settle, short enough to stop and rest the hand (an estimate, no source)."""
FULL_PERCENT = 100


@dataclass(frozen=True, slots=True, kw_only=True)
class PracticeWishes:
    """How the set is to be. ``has_clicks``: the beat is clicked throughout, and kept even."""

    audio_format: AudioFormat = AudioFormat.FLAC
    melody_over_db: float = MELODY_OVER_DB
    slow_percent: tuple[int, ...] = SLOW_PERCENT
    loop_percent: int = LOOP_PERCENT
    has_count_in: bool = True
    has_clicks: bool = False
    is_phrased: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Track:
    """One file of sound to be: ``name`` is that of its file, ``title`` what a player shows."""

    name: str
    title: str
    arrangement: Arrangement
    take: Take
    voices: tuple[Voice, ...] = BOTH
    percent: int = FULL_PERCENT
    is_phrased: bool = False
    number: int = 0

    @property
    def stem(self) -> str:
        return f"{self.number:02}-{self.name}"

    @property
    def cue_sheet(self) -> CueSheet:
        return plan_cues(self.arrangement, self.take, self.percent / FULL_PERCENT, is_phrased=self.is_phrased)


def plan_practice(
    arrangement: Arrangement, hard_bars: Sequence[int], wishes: PracticeWishes
) -> tuple[Track, ...]:
    """The tracks of a piece. ``hard_bars`` are indices of its bars, hardest first.

    The guitar is tuned; the melody is heard alone, then with its accompaniment, then the
    accompaniment to play the melody over; then slowly, from the slowest; then each hard bar. The
    other tuning comes last.
    """
    own, *others = sorted(TUNINGS.values(), key=lambda tuning: tuning != arrangement.tuning)
    tracks = [
        _tune(own),
        *_play_voices(arrangement, wishes),
        *_play_slowly(arrangement, wishes),
        *(_go_round(arrangement, index, wishes) for index in hard_bars),
        *(_tune(tuning) for tuning in others),
    ]
    return tuple(replace(track, number=number) for number, track in enumerate(tracks, 1))


def _tune(tuning: Tuning) -> Track:
    piece = make_tuning_piece(tuning)
    return Track(
        name=f"tuning-{tuning.name}", title=piece.title, arrangement=piece, take=Take(perform(piece))
    )


def _play_voices(arrangement: Arrangement, wishes: PracticeWishes) -> Iterator[Track]:
    """Each voice that there is, and both together."""
    take = _ready(Take(perform(arrangement)), wishes)
    there = {voice for voice in BOTH if arrangement.voice(*ROLES[voice])}
    for voices, name, words in _VOICES:
        if there.issuperset(voices):
            yield Track(
                name=name,
                title=f"{arrangement.title}: {words}",
                arrangement=arrangement,
                take=take,
                voices=voices,
                is_phrased=_is_phrased(wishes),
            )


_VOICES = (
    ((Voice.MELODY,), "melody", "the melody alone"),
    (BOTH, "together", "melody and accompaniment"),
    ((Voice.ACCOMPANIMENT,), "accompaniment", "the accompaniment, to play the melody over"),
)


def _play_slowly(arrangement: Arrangement, wishes: PracticeWishes) -> Iterator[Track]:
    take = _ready(Take(perform(arrangement)), wishes)
    for percent in sorted(wishes.slow_percent):
        yield Track(
            name=f"slow-{percent}",
            title=f"{arrangement.title}: at {percent} %",
            arrangement=arrangement,
            take=take,
            percent=percent,
            is_phrased=_is_phrased(wishes),
        )


def _go_round(arrangement: Arrangement, index: int, wishes: PracticeWishes) -> Track:
    """A hard bar again and again, each time with the bar that is played before it.

    The first bar of all is counted in instead. Everything is even: there is no end to broaden to.
    """
    order = play_order(arrangement.bars)
    place = order.index(index)
    once = Take(perform(arrangement, order[max(place - 1, 0) : place + 1]))
    again = repeat_take(once if place else with_count_in(once), LOOP_TIMES)
    number = arrangement.bars[index].number
    return Track(
        name=f"loop-{name_bar_file(number)}",
        title=f"{arrangement.title}: bar {number} again and again, at {wishes.loop_percent} %",
        arrangement=arrangement,
        take=with_clicks(again) if wishes.has_clicks else again,
        percent=wishes.loop_percent,
    )


def name_bar_file(number: str) -> str:
    """The printed number of a bar as part of a file's name."""
    return f"bar-{re.sub(r'[^0-9A-Za-z]+', '-', number)}"


def _ready(take: Take, wishes: PracticeWishes) -> Take:
    counted = with_count_in(take) if wishes.has_count_in else take
    return with_clicks(counted) if wishes.has_clicks else counted


def _is_phrased(wishes: PracticeWishes) -> bool:
    """A click that gives way would be none."""
    return wishes.is_phrased and not wishes.has_clicks


# --- files ---------------------------------------------------------------------------------


def render_track(track: Track, wishes: PracticeWishes) -> bytes:
    """A track as a file of sound, with its tags."""
    sheet = track.cue_sheet
    balance = find_balance(sheet, wishes.melody_over_db) if len(track.voices) > 1 else Balance()
    cues = balance_cues(sheet, balance, *track.voices)
    tags = Tags(
        title=track.title,
        artist=track.arrangement.composer,
        album=track.arrangement.title,
        track=track.number,
    )
    return encode_audio(render_mix(cues, sheet.duration_s, sheet.clicks), wishes.audio_format, tags)


def write_track_midi(track: Track) -> bytes:
    """The same as a MIDI file: its voices, its speed, its clicks."""
    roles = {role for voice in track.voices for role in ROLES[voice]}
    return write_midi(track.arrangement, track.take, roles, Fraction(track.percent, FULL_PERCENT))


def write_playlist(tracks: Sequence[Track], wishes: PracticeWishes) -> bytes:
    """An extended M3U in UTF-8: the files beside it, with their titles and rounded seconds."""
    lines = ["#EXTM3U", "#EXTENC:UTF-8"]
    for track in tracks:
        title = " ".join(track.title.split())
        lines.append(f"#EXTINF:{round(track.cue_sheet.duration_s)},{title}")
        lines.append(f"{track.stem}{wishes.audio_format.suffix}")
    return ("\n".join(lines) + "\n").encode()
