"""The arrangement as sound.

    write_midi      Arrangement, or a take of it -> a MIDI file
    perform         Arrangement -> its notes in playing time, repeats and jumps played out
    Take            a performance, with a count-in (with_count_in), clicks, or again and again
    plan_cues       take -> the cue sheet: which string is plucked when, how, and stopped when
    find_balance    cue sheet -> the gains at which the melody stands out
    balance_cues    the cues of one or both voices with those gains
    room            what a room makes of a click, at both ears
    render_mix      cues -> sound in a room, at one loudness, in blocks
    render_sample   one plucked note -> sound
    encode_audio    sound -> FLAC, OGG, MP3 or WAV
    plan_practice   Arrangement -> the tracks of a practice set; render_track, write_track_midi,
                    write_playlist make their files
    plan_playback   Arrangement -> a cue sheet for a player that mixes by itself; describe_playback gives
                    it as JSON carries it, encode_sample each of its notes as a file
    draw_bar_sound  a bar as a picture of holds and waveforms (SVG)

What writes sound files is loaded when first asked for.
"""

from apoyando.sound.audio_file import AudioFormat, Tags, encode_audio
from apoyando.sound.cues import BarCue, BeatCue, Cue, CueSheet, choose_sample, plan_cues
from apoyando.sound.midi import write_midi
from apoyando.sound.mix import BOTH, Balance, Voice, balance_cues, find_balance, render_mix
from apoyando.sound.performance import Performance, perform
from apoyando.sound.picture import draw_bar_sound
from apoyando.sound.playback import describe_playback, encode_sample, plan_playback, sample_seconds
from apoyando.sound.pluck import render_note, render_sample
from apoyando.sound.practice import (
    PracticeWishes,
    Track,
    name_bar_file,
    plan_practice,
    render_track,
    write_playlist,
    write_track_midi,
)
from apoyando.sound.room import room
from apoyando.sound.samples import SAMPLE_RATE_HZ, Sample, Stroke, harmonic_interval
from apoyando.sound.takes import Beat, Take, find_beats, repeat_take, with_clicks, with_count_in

__all__ = [
    "BOTH",
    "SAMPLE_RATE_HZ",
    "AudioFormat",
    "Balance",
    "BarCue",
    "Beat",
    "BeatCue",
    "Cue",
    "CueSheet",
    "Performance",
    "PracticeWishes",
    "Sample",
    "Stroke",
    "Tags",
    "Take",
    "Track",
    "Voice",
    "balance_cues",
    "choose_sample",
    "describe_playback",
    "draw_bar_sound",
    "encode_audio",
    "encode_sample",
    "find_balance",
    "find_beats",
    "harmonic_interval",
    "name_bar_file",
    "perform",
    "plan_cues",
    "plan_playback",
    "plan_practice",
    "render_mix",
    "render_note",
    "render_sample",
    "render_track",
    "repeat_take",
    "room",
    "sample_seconds",
    "with_clicks",
    "with_count_in",
    "write_midi",
    "write_playlist",
    "write_track_midi",
]
