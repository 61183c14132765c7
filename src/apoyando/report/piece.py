"""What was decided for a piece, what was given up, what is hard, what is proven."""

import json
from collections.abc import Sequence

from apoyando.arranging import raised
from apoyando.model.arrangement import Arrangement, MelodyChange, Relaxation, Role, TexturedBars
from apoyando.model.campanella import find_bells
from apoyando.model.form import play_order, playing_minutes
from apoyando.model.harmony import ChordOrigin
from apoyando.model.locks import Lock
from apoyando.model.score import Score
from apoyando.model.song import Song
from apoyando.report.certificate import describe_certificate, describe_finding
from apoyando.report.entries import Entry, describe_remarks, describe_source, name_chord, place
from apoyando.report.holds import describe_holds
from apoyando.report.verdict import Verdict
from apoyando.report.voice_leading import describe_voice_leading
from apoyando.teaching import (
    BarDifficulty,
    HardBar,
    choose_hard_bars,
    find_turn_shifts,
)


def encode_report(report: Entry) -> bytes:
    """The report as JSON (RFC 8259). A lone surrogate in a file's name is escaped, as JSON may."""
    return (json.dumps(report, ensure_ascii=False, indent=2) + "\n").encode(errors="backslashreplace")


def describe_piece(
    song: Song | Score,
    arrangement: Arrangement,
    verdict: Verdict,
    search_seconds: float | None = None,
    locks: Sequence[Lock] = (),
) -> Entry:
    """What was decided, what was given up, what is hard, what is proven."""
    return {
        **_describe_choices(arrangement),
        "locks": [str(lock) for lock in locks],
        "form": _describe_form(song, arrangement),
        "search": _describe_search(arrangement, search_seconds),
        "melody": _describe_melody(arrangement, song),
        "harmony": _describe_harmony(song),
        "holds": describe_holds(arrangement, verdict.rings),
        "voice_leading": describe_voice_leading(arrangement, verdict.voice_leading),
        "relaxations": [_describe_relaxation(arrangement, each) for each in arrangement.relaxations],
        "bars": [_describe_difficulty(each) for each in verdict.difficulties],
        "hard_bars": [_describe_hard_bar(each) for each in choose_hard_bars(verdict.difficulties)],
        "over_level": [describe_finding(arrangement, each) for each in verdict.over_level],
        "certificate": describe_certificate(arrangement, verdict.certificate),
        "remarks": describe_remarks(song),
    }


def _describe_choices(arrangement: Arrangement) -> Entry:
    return {
        "title": arrangement.title,
        "composer": arrangement.composer,
        "key": str(arrangement.key),
        "sounding_key": str(raised(arrangement.key, arrangement.capo)),
        "capo": arrangement.capo,
        "tuning": arrangement.tuning.name,
        "level": arrangement.level,
        "texture": arrangement.texture,
        "sections": [_describe_section(each) for each in arrangement.sections],
        "transposition": {
            "semitones": arrangement.transposition.semitones,
            "fifths": arrangement.transposition.fifths,
        },
    }


def _describe_form(song: Song | Score, arrangement: Arrangement) -> Entry:
    """How long it lasts, the bars in the order of play, and what was done to the song's own form."""
    bars, form = arrangement.bars, arrangement.form
    minutes = playing_minutes(bars, arrangement.tempo_quarters_per_minute)
    return {
        "minutes": round(float(minutes), 2),
        "order": [bars[index].number for index in play_order(bars)],
        "steps": [
            {"step": str(step.act), "sentence": step.sentence} for step in (form.steps if form else ())
        ],
        "sources": [
            {"bar": bar.number, "of_song": None if source is None else song.bars[source].number}
            for bar, source in zip(bars, form.sources if form else (), strict=False)
        ],
        "shifts_at_turns": [
            {"from": turn.bar, "to": turn.next_bar, "frets": turn.frets, "sentence": turn.sentence}
            for turn in find_turn_shifts(arrangement)
        ],
    }


def _describe_section(section: TexturedBars) -> Entry:
    return {"bar": section.bar, "to_bar": section.to_bar, "texture": section.texture}


def _describe_search(arrangement: Arrangement, seconds: float | None) -> Entry:
    search = arrangement.search
    return {
        "seconds": seconds,
        "price": search.price,
        "lower_bound": search.lower_bound,
        "optimal": search.is_optimal,
    }


def _describe_melody(arrangement: Arrangement, song: Song | Score) -> Entry:
    return {
        "from": describe_source(song),
        "notes": len(arrangement.voice(Role.MELODY)),
        "changes": [_describe_change(arrangement, each) for each in arrangement.melody_changes],
        "rings_on": [
            {**place(arrangement.bars, each.onset), "pitch": str(each.pitch), "string": each.place.string}
            for each in find_bells(arrangement.notes)
        ],
    }


def _describe_harmony(song: Song | Score) -> Entry:
    """Which chords are not written in the source: found in its notes, or the player's."""
    origins = {span.origin for span in song.harmony}
    return {
        "found": ChordOrigin.FOUND in origins,
        "spans": [
            {**place(song.bars, span.onset), **name_chord(span)}
            for span in song.harmony
            if span.origin is not ChordOrigin.WRITTEN
        ],
    }


def _describe_change(arrangement: Arrangement, change: MelodyChange) -> Entry:
    return {
        **place(arrangement.bars, change.onset),
        "until_quarters": None if change.until is None else str(change.until),
        "old": change.old,
        "new": change.new,
        "reason": change.reason,
    }


def _describe_relaxation(arrangement: Arrangement, relaxation: Relaxation) -> Entry:
    return {
        **place(arrangement.bars, relaxation.onset),
        "step": str(relaxation.step),
        "reason": relaxation.reason,
    }


def _describe_difficulty(difficulty: BarDifficulty) -> Entry:
    return {
        "number": difficulty.bar,
        "difficulty": difficulty.total,
        "parts": {str(cause): points for cause, points in difficulty.parts.items()},
        "reasons": list(difficulty.reasons),
    }


def _describe_hard_bar(hard: HardBar) -> Entry:
    return {"number": hard.bar, "difficulty": hard.difficulty, "sentence": hard.sentence}
