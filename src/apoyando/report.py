"""What is told about a song and its piece, for machines and for the screen.

Conventions: plain values that JSON can carry. Score time is exact: quarters from the start
as a string, "7/2"; ``beat`` counts the felt pulse of the meter from 1, "5/2" being half way
through the second beat. ``bar`` is the printed number. The same piece gives the same bytes.
"""

import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from apoyando.arranging import KeyComparison, raised
from apoyando.engraving import plain_text, print_chord
from apoyando.model.arrangement import Arrangement, GivenUpHold, MelodyChange, Relaxation, Role, TexturedBars
from apoyando.model.beat import count_beat
from apoyando.model.form import play_order, playing_minutes
from apoyando.model.harmony import ChordOrigin, HarmonySpan, chord_tones
from apoyando.model.locks import Lock
from apoyando.model.pitch import Pitch
from apoyando.model.ring import Remedy, Ring
from apoyando.model.score import Score
from apoyando.model.song import Bar, Jump, MelodyNote, Song, bar_at
from apoyando.model.time import Quarters
from apoyando.proofing import Certificate, Finding, Proof, Refutation, WidestSpan
from apoyando.teaching import (
    BarDifficulty,
    HardBar,
    NonChordTone,
    VoiceLeading,
    VoiceMotion,
    choose_hard_bars,
    find_turn_shifts,
)

Entry = dict[str, object]


@dataclass(frozen=True, slots=True, kw_only=True)
class Verdict:
    """What the rooms that look at a finished arrangement say of it."""

    certificate: Certificate
    over_level: tuple[Finding, ...]
    difficulties: tuple[BarDifficulty, ...]
    rings: tuple[Ring, ...] = ()
    voice_leading: VoiceLeading = field(default_factory=VoiceLeading)


@dataclass(frozen=True, slots=True)
class ComparedKey:
    """The song in one setup: the bars that are hard in it, hardest first, and the reasons for its price."""

    comparison: KeyComparison[tuple[HardBar, ...]]
    reasons: tuple[str, ...]

    @property
    def hard_bars(self) -> tuple[HardBar, ...]:
        return self.comparison.seen


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
        "holds": _describe_holds(arrangement, verdict.rings),
        "voice_leading": _describe_voice_leading(arrangement, verdict.voice_leading),
        "relaxations": [_describe_relaxation(arrangement, each) for each in arrangement.relaxations],
        "bars": [_describe_difficulty(each) for each in verdict.difficulties],
        "hard_bars": [_describe_hard_bar(each) for each in choose_hard_bars(verdict.difficulties)],
        "over_level": [_describe_finding(arrangement, each) for each in verdict.over_level],
        "certificate": _describe_certificate(arrangement, verdict.certificate),
        "remarks": _describe_remarks(song),
    }


def describe_keys(compared: Sequence[ComparedKey]) -> list[Entry]:
    """The keys in the order given. ``hardest_bar`` is None where no bar is hard."""
    return [_describe_key(each) for each in compared]


def _describe_key(compared: ComparedKey) -> Entry:
    setup, arrangement = compared.comparison.setup, compared.comparison.arrangement
    basses = arrangement.voice(Role.BASS)
    return {
        "key": str(setup.key),
        "sounding_key": str(setup.sounding_key),
        "capo": setup.capo,
        "tuning": setup.tuning,
        "price": compared.comparison.price,
        "open_basses": sum(note.place.is_open for note in basses),
        "barres": len(arrangement.barres),
        "highest_fret": max((note.place.fret for note in arrangement.notes), default=0),
        "hardest_bar": compared.hard_bars[0].bar if compared.hard_bars else None,
        "reasons": list(compared.reasons),
    }


def describe_song(song: Song) -> Entry:
    """What was understood, bar by bar."""
    tempo = song.tempo_quarters_per_minute
    return {
        "title": song.title,
        "composer": song.composer,
        "lyricist": song.lyricist,
        "rights": song.rights,
        "key": str(song.key),
        "meter": str(song.bars[0].meter),
        "tempo_quarters_per_minute": None if tempo is None else str(tempo),
        "tempo_words": song.tempo_words,
        "melody_from": _describe_source(song),
        "chords_found": any(span.origin is ChordOrigin.FOUND for span in song.harmony),
        "bars": [_describe_bar(song, bar) for bar in song.bars],
        "remarks": _describe_remarks(song),
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
        "from": _describe_source(song),
        "notes": len(arrangement.voice(Role.MELODY)),
        "changes": [_describe_change(arrangement, each) for each in arrangement.melody_changes],
    }


def _describe_source(song: Song | Score) -> Entry | None:
    """Which part is the melody; None where there is nothing to choose from."""
    source = song.melody_source if isinstance(song, Song) else None
    if source is None:
        return None
    return {"part": source.name, "reason": source.reason, "choices": list(source.choices)}


def _describe_harmony(song: Song | Score) -> Entry:
    """Which chords are not written in the source: found in its notes, or the player's."""
    origins = {span.origin for span in song.harmony}
    return {
        "found": ChordOrigin.FOUND in origins,
        "spans": [
            {**_place(song.bars, span.onset), **_name_chord(span)}
            for span in song.harmony
            if span.origin is not ChordOrigin.WRITTEN
        ],
    }


def _name_chord(harmony: HarmonySpan) -> Entry:
    return {"chord": plain_text(print_chord(harmony.chord)), "origin": str(harmony.origin)}


def _describe_change(arrangement: Arrangement, change: MelodyChange) -> Entry:
    return {
        **_place(arrangement.bars, change.onset),
        "until_quarters": None if change.until is None else str(change.until),
        "old": change.old,
        "new": change.new,
        "reason": change.reason,
    }


def _describe_holds(arrangement: Arrangement, rings: Sequence[Ring]) -> Entry:
    given_up = arrangement.given_up_holds
    ring_of = {(ring.note.onset, ring.note.pitch): ring for ring in rings}
    return {
        "kept": len(arrangement.notes) - len(given_up),
        "given_up": [_describe_hold(arrangement, each, ring_of) for each in given_up],
        "ring": [_describe_ring(arrangement, each) for each in rings],
    }


def _describe_hold(
    arrangement: Arrangement, hold: GivenUpHold, ring_of: Mapping[tuple[Quarters, Pitch], Ring]
) -> Entry:
    ring = ring_of.get((hold.onset, hold.pitch))
    return {
        **_place(arrangement.bars, hold.onset),
        "pitch": str(hold.pitch),
        "wanted_until": str(hold.wanted_until),
        "held_until": str(hold.held_until),
        "reason": hold.reason,
        **(_describe_ring_end(ring) if ring else {}),
    }


def _describe_ring(arrangement: Arrangement, ring: Ring) -> Entry:
    note = ring.note
    return {
        **_place(arrangement.bars, note.onset),
        "voice": str(note.role),
        "pitch": str(note.pitch),
        "string": note.place.string,
        "written_until": str(note.offset),
        "wanted_until": str(ring.wanted_until),
        **_describe_ring_end(ring),
    }


def _describe_ring_end(ring: Ring) -> Entry:
    return {
        "rings_until": str(ring.until),
        "ended_by": str(ring.ending),
        "ending": ring.sentence,
        "remedy": _describe_remedy(ring.remedy) if ring.remedy else None,
    }


def _describe_remedy(remedy: Remedy) -> Entry:
    return {"rings_until": str(remedy.rings_until), "sentence": remedy.sentence}


def _describe_voice_leading(arrangement: Arrangement, leading: VoiceLeading) -> Entry:
    return {
        "changes": leading.changes,
        "changes_led": len({motion.onset for motion in leading.motions}),
        "broken_off": sum(tone.is_violated for tone in leading.tones),
        "bars": list(_describe_led_bars(arrangement, leading)),
    }


def _describe_led_bars(arrangement: Arrangement, leading: VoiceLeading) -> Iterator[Entry]:
    """The bars in which there is something to tell."""
    for bar in arrangement.bars:
        tones = [tone for tone in leading.tones if bar.span.contains(tone.span.onset)]
        motions = [motion for motion in leading.motions if bar.span.contains(motion.onset)]
        if tones or motions:
            yield {
                "number": bar.number,
                "tones": [_describe_tone(bar, tone) for tone in tones],
                "motions": [_describe_motion(bar, motion) for motion in motions],
            }


def _describe_tone(bar: Bar, tone: NonChordTone) -> Entry:
    return {
        "beat": str(count_beat(bar, tone.span.onset)),
        "onset_quarters": str(tone.span.onset),
        "voice": str(tone.note.role),
        "pitch": str(tone.note.pitch),
        "kind": str(tone.kind),
        "figure": tone.figure,
        "prepared_from": str(tone.preparation.onset) if tone.preparation else None,
        "resolution": str(tone.resolution.pitch) if tone.resolution else None,
        "stays_until": str(tone.span.offset),
        "stays": str(tone.stay) if tone.stay else None,
    }


def _describe_motion(bar: Bar, motion: VoiceMotion) -> Entry:
    return {
        "beat": str(count_beat(bar, motion.onset)),
        "onset_quarters": str(motion.onset),
        "kind": str(motion.kind),
        "from": str(motion.before.pitch),
        "to": str(motion.after.pitch),
        "to_voice": str(motion.after.role),
        "sounds_on": motion.sounds_on,
    }


def _describe_relaxation(arrangement: Arrangement, relaxation: Relaxation) -> Entry:
    return {
        **_place(arrangement.bars, relaxation.onset),
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


def _describe_finding(arrangement: Arrangement, finding: Finding) -> Entry:
    return {
        **_place(arrangement.bars, finding.onset),
        "rule": str(finding.rule),
        "sentence": finding.sentence,
    }


def _describe_certificate(arrangement: Arrangement, certificate: Certificate) -> Entry:
    return {
        "proven": certificate.is_proven,
        "rules": [_describe_answer(arrangement, answer) for answer in certificate.answers],
    }


def _describe_answer(arrangement: Arrangement, answer: Proof | Refutation) -> Entry:
    if isinstance(answer, Refutation):
        return {
            "rule": str(answer.rule),
            "holds": False,
            "witnesses": [each.sentence for each in answer.witnesses],
        }
    widest = {"widest": _describe_widest(arrangement, answer.widest)} if answer.widest else {}
    return {
        "rule": str(answer.rule),
        "holds": True,
        "notes_checked": answer.notes_checked,
        "moments_checked": answer.moments_checked,
        **widest,
    }


def _describe_widest(arrangement: Arrangement, widest: WidestSpan) -> Entry:
    return {
        **_place(arrangement.bars, widest.onset),
        "span_mm": round(widest.span_mm, 1),
        "notes": [f"{note.pitch}, {note.place}, finger {note.finger:d}" for note in widest.notes],
    }


def _describe_remarks(song: Song | Score) -> list[Entry]:
    return [{"bar": remark.bar, "text": remark.text} for remark in song.remarks]


def _describe_bar(song: Song, bar: Bar) -> Entry:
    return {
        "bar": bar.number,
        "meter": str(bar.meter),
        "key": str(bar.key),
        "length_quarters": str(bar.span.duration),
        "section": bar.section,
        "form": _form_marks(bar),
        "chords": [_describe_chord(bar, span) for span in song.harmony if span.span.overlaps(bar.span)],
        "melody": list(_describe_line(song, bar)),
    }


def _describe_chord(bar: Bar, harmony: HarmonySpan) -> Entry:
    chord = harmony.chord
    return {
        "beat": str(count_beat(bar, max(harmony.onset, bar.onset))),
        **_name_chord(harmony),
        "written": chord.text if chord else "",
        "tones": [str(tone.name) for tone in chord_tones(chord)] if chord else [],
        "from_before": harmony.onset < bar.onset,
    }


def _describe_line(song: Song, bar: Bar) -> Iterator[Entry]:
    """The notes and rests that fill the bar."""
    reached = bar.onset
    for note in song.melody:
        if note.span.overlaps(bar.span):
            if reached < note.onset:
                yield _describe_rest(bar, reached, note.onset)
            yield _describe_note(bar, note)
            reached = note.offset
    if reached < bar.offset:
        yield _describe_rest(bar, reached, bar.offset)


def _describe_note(bar: Bar, note: MelodyNote) -> Entry:
    """The part of a note that lies in the bar; its words where it begins."""
    onset, offset = max(note.onset, bar.onset), min(note.offset, bar.offset)
    begins_here = onset == note.onset
    return {
        "beat": str(count_beat(bar, onset)),
        "pitch": str(note.pitch),
        "quarters": str(offset - onset),
        "from_before": not begins_here,
        "lyrics": [lyric.text for lyric in note.lyrics] if begins_here else [],
    }


def _describe_rest(bar: Bar, onset: Quarters, offset: Quarters) -> Entry:
    return {
        "beat": str(count_beat(bar, onset)),
        "pitch": None,
        "quarters": str(offset - onset),
        "from_before": False,
        "lyrics": [],
    }


def _form_marks(bar: Bar) -> list[str]:
    at_start = [str(jump) for jump in bar.jumps if jump in (Jump.SEGNO, Jump.CODA)]
    at_end = [str(jump) for jump in bar.jumps if jump not in (Jump.SEGNO, Jump.CODA)]
    return [
        *(["pickup"] if bar.is_pickup else []),
        *at_start,
        *(["repeat from here"] if bar.starts_repeat else []),
        *([f"ending {', '.join(map(str, bar.endings))}"] if bar.endings else []),
        *([f"played {bar.repeat_times} times"] if bar.repeat_times else []),
        *([bar.jump_words] if at_end and bar.jump_words else at_end),
    ]


def _place(bars: tuple[Bar, ...], onset: Quarters) -> Entry:
    bar = bar_at(bars, onset)
    return {"bar": bar.number, "beat": str(count_beat(bar, onset)), "onset_quarters": str(onset)}
