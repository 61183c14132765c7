"""The whole way on one page: read, arrange and finger, prove, measure, write.

    bytes ─reading→ Song ─arranging→ Arrangement ─proofing→ Certificate
                                          └─engraving, sound, report→ bytes by suffix
                                          └─teaching→ Block ─engraving→ Lesson

    bytes ─reading→ Score ─arranging→ Fingered ─proofing→ Certificate, and on as above

Nothing leaves here that has not been certified. A refutation is a bug of the program, not
a fault of the song, and is an ordinary exception.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from functools import partial
from time import perf_counter
from typing import TypeVar

from apoyando.arranging import (
    Alternative,
    Ruler,
    arrange_song,
    compare_keys,
    explain_prices,
    finger_score,
    key_named,
    sketch_song,
    transposition_to,
    twelve_keys,
    weigh_note,
    weigh_positions,
)
from apoyando.engraving import engrave_lesson, engrave_pdf, notate_whole, write_musicxml, write_png
from apoyando.model.arrangement import Arrangement
from apoyando.model.errors import UsageError
from apoyando.model.instrument import STANDARD_TUNING
from apoyando.model.level import Level
from apoyando.model.locks import NoteLock
from apoyando.model.plan import Plan
from apoyando.model.prices import Prices
from apoyando.model.ring import Ring
from apoyando.model.score import Score
from apoyando.model.song import Song
from apoyando.proofing import (
    Certificate,
    find_over_level,
    find_rings,
    merge_unisons,
    prove_arrangement,
    prove_fingering,
)
from apoyando.reading import read_score, read_song, write_plan
from apoyando.report import ComparedKey, Entry, Verdict, describe_piece, encode_report
from apoyando.sound import PracticeWishes, Track, draw_bar_sound, plan_practice, write_midi
from apoyando.teaching import (
    HardBar,
    Studied,
    choose_hard_bars,
    find_voice_leading,
    measure_difficulty,
    read_lesson_text,
    write_lesson,
    write_lesson_text,
)

MUSICXML, PDF, MIDI, REPORT, PLAN = ".musicxml", ".pdf", ".mid", ".report.json", ".plan.toml"
OUTPUT_SUFFIXES = (PDF, MUSICXML, MIDI, REPORT, PLAN)
LESSON_PDF, LESSON_TEXT = ".lesson.pdf", ".lesson.md"


Made = TypeVar("Made")
Tell = Callable[[str], None]
"""Hears what is being done, in a few words."""


def _tell_nobody(_: str) -> None:
    pass


class RefutedArrangementError(Exception):
    """The search made something that the proofing room refutes: a bug, shown by its witnesses."""

    def __init__(self, certificate: Certificate) -> None:
        self.certificate = certificate
        first, *others = certificate.witnesses
        more = f" (and {len(others)} more)" if others else ""
        super().__init__(f"{certificate.refutations[0].rule}: {first.sentence}{more}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """The piece of a song or a score, with its proof. ``outputs`` are whole files by the suffix of their names.

    ``plan`` holds every decision that was made; with it the same song gives the same bytes.
    ``verdict`` is what was found in it, once: lesson, practice set and hold chart go by it.
    """

    song: Song | Score
    plan: Plan
    arrangement: Arrangement
    verdict: Verdict
    report: Entry
    outputs: Mapping[str, bytes]

    @property
    def certificate(self) -> Certificate:
        return self.verdict.certificate

    @property
    def rings(self) -> tuple[Ring, ...]:
        """How long its accompaniment can ring."""
        return self.verdict.rings


def make_piece(
    data: bytes, file_name: str, plan: Plan, levels: Mapping[str, Level], *, is_timed: bool = False
) -> Piece:
    """From a song's file to everything that is made of it.

    With ``is_timed`` the report tells the seconds of the search, and is no longer the same
    from run to run. Raises SongError, UsageError; RefutedArrangementError is a bug.
    """
    piece = arrange_piece(data, file_name, plan, levels, is_timed=is_timed)
    return replace(piece, outputs=write_outputs(piece.arrangement, piece.plan, encode_report(piece.report)))


def arrange_piece(
    data: bytes,
    file_name: str,
    plan: Plan,
    levels: Mapping[str, Level],
    *,
    is_timed: bool = False,
    tell: Tell = _tell_nobody,
) -> Piece:
    """The piece arranged and proven, without its files: ``outputs`` is empty.

    ``tell`` hears which stage begins. Raises as ``make_piece`` does.
    """
    level = find_level(plan, levels)
    tell("reading the song")
    song = read_song(data, file_name, part=plan.part, chords=plan.chords)
    tell("arranging" if plan.key else "choosing the key")
    ruler = make_ruler(plan, levels)
    arrangement, seconds = _timed(lambda: arrange_song(song, plan, level, ruler))
    tell("proofing")
    verdict = judge(arrangement, song, level, plan.hand_size)
    return _collect(song, plan, arrangement, verdict, seconds if is_timed else None)


def sketch_piece(data: bytes, file_name: str, plan: Plan, levels: Mapping[str, Level]) -> Piece:
    """The piece at once, proven to be playable, with hard bars left as they are; without its files.

    Raises as ``make_piece`` does.
    """
    level = find_level(plan, levels)
    song = read_song(data, file_name, part=plan.part, chords=plan.chords)
    arrangement = sketch_song(song, plan, level)
    return _collect(song, plan, arrangement, judge(arrangement, song, level, plan.hand_size))


def _collect(
    song: Song, plan: Plan, arrangement: Arrangement, verdict: Verdict, seconds: float | None = None
) -> Piece:
    return Piece(
        song=song,
        plan=complete_plan(plan, song, arrangement),
        arrangement=arrangement,
        verdict=verdict,
        report=describe_piece(song, arrangement, verdict, seconds, plan.locks),
        outputs={},
    )


def settle_setup(plan: Plan, piece: Piece) -> Plan:
    """The plan with key, capo, tuning and part as they were chosen for it; the rest as it was.

    So the next question is asked of one key only, and the player can name places in it.
    """
    chosen = piece.plan
    return replace(plan, key=chosen.key, capo=chosen.capo, tuning=chosen.tuning, part=chosen.part)


def name_keys(song: Song) -> tuple[str, ...]:
    """The tonics of the twelve keys that a song can be had in."""
    return tuple(str(key.tonic) for key in twelve_keys(song))


@dataclass(frozen=True, slots=True, kw_only=True)
class Wishes:
    """How a score is to be fingered.

    ``plan`` gives level, size of the hand and prices. ``tuning`` is "" and ``capo`` None
    where the score's own count. ``is_anew``: what the score says of the hands does not.
    """

    plan: Plan
    tuning: str = ""
    capo: int | None = None
    is_anew: bool = False


def finger_piece(
    data: bytes, file_name: str, wishes: Wishes, levels: Mapping[str, Level], *, is_timed: bool = False
) -> Piece:
    """From a guitar score's file to the same, fingered. Raises as ``make_piece`` does."""
    level = find_level(wishes.plan, levels)
    score = read_score(data, file_name)
    score = score.without_fingering() if wishes.is_anew else score
    plan = _settle_guitar(wishes, score)
    fingered, seconds = _timed(lambda: finger_score(score, plan, levels))
    arrangement, sounds = fingered.arrangement, merge_unisons(fingered.arrangement)
    certificate = prove_fingering(arrangement, score, fingered.level, plan.hand_size)
    verdict = _judge(certificate, sounds, level, plan.hand_size)
    report = describe_piece(score, arrangement, verdict, seconds if is_timed else None)
    return Piece(
        song=score,
        plan=plan,
        arrangement=arrangement,
        verdict=verdict,
        report=report,
        outputs=write_outputs(arrangement, plan, encode_report(report)),
    )


def _settle_guitar(wishes: Wishes, score: Score) -> Plan:
    """The plan with the tuning and the capo that were asked for, or else are written."""
    written = score.tuning.name if score.tuning else STANDARD_TUNING.name
    return replace(
        wishes.plan,
        tuning=wishes.tuning or written,
        capo=score.capo if wishes.capo is None else wishes.capo,
    )


def compare_song_keys(
    data: bytes, file_name: str, plan: Plan, levels: Mapping[str, Level]
) -> tuple[ComparedKey, ...]:
    """The song in each key, or each capo that reaches the sounding key; the cheapest first.

    Raises SongError, UsageError.
    """
    level = find_level(plan, levels)
    look = partial(_find_hard_bars, level=level, hand_size=plan.hand_size)
    song = read_song(data, file_name, part=plan.part, chords=plan.chords)
    compared = compare_keys(song, plan, level, look)
    reasons = explain_prices(compared, Prices().turned(plan.prices))
    return tuple(ComparedKey(each, why) for each, why in zip(compared, reasons, strict=True))


def weigh_ways_of_note(
    song: Song, plan: Plan, levels: Mapping[str, Level], note: NoteLock
) -> tuple[Alternative, ...]:
    """Every place and finger for a note of a piece, with what each would cost, the cheapest first.

    ``plan`` is that of the piece, with its key; ``note`` names bar, beat and voice. Raises UsageError.
    """
    return weigh_note(song, plan, find_level(plan, levels), key_named(plan.key, song), note)


def weigh_positions_of_bar(
    song: Song, plan: Plan, levels: Mapping[str, Level], bar: str
) -> tuple[Alternative, ...]:
    """Every position for a bar of a piece, by its printed number, as ``weigh_ways_of_note``."""
    return weigh_positions(song, plan, find_level(plan, levels), key_named(plan.key, song), bar)


def make_ruler(plan: Plan, levels: Mapping[str, Level]) -> Ruler:
    """How hard a piece is for the hand of the plan, and the levels that allow more points than its own."""
    asked = levels[plan.level]
    harder = [level for level in levels.values() if level.most_points > asked.most_points]
    return Ruler(
        partial(_measure_bars, hand_size=plan.hand_size),
        tuple(sorted(harder, key=lambda level: level.most_points)),
    )


def _measure_bars(arrangement: Arrangement, level: Level, hand_size: float) -> tuple[float, ...]:
    """The points of every bar."""
    return tuple(each.total for each in measure_difficulty(arrangement, level, hand_size))


def _find_hard_bars(arrangement: Arrangement, level: Level, hand_size: float) -> tuple[HardBar, ...]:
    return choose_hard_bars(measure_difficulty(arrangement, level, hand_size))


def find_level(plan: Plan, levels: Mapping[str, Level]) -> Level:
    if plan.level not in levels:
        raise UsageError(f"there is no level {plan.level}. The levels are: {', '.join(levels)}.")
    return levels[plan.level]


def judge(arrangement: Arrangement, song: Song, level: Level, hand_size: float) -> Verdict:
    """The proof that the piece can be played as written, and how hard it is.

    Raises RefutedArrangementError.
    """
    return _judge(prove_arrangement(arrangement, song, level, hand_size), arrangement, level, hand_size)


def _judge(certificate: Certificate, arrangement: Arrangement, level: Level, hand_size: float) -> Verdict:
    if not certificate.is_proven:
        raise RefutedArrangementError(certificate)
    rings = find_rings(arrangement, level, hand_size)
    return Verdict(
        certificate=certificate,
        over_level=find_over_level(arrangement, level),
        difficulties=measure_difficulty(arrangement, level, hand_size),
        rings=rings,
        voice_leading=find_voice_leading(arrangement, rings),
    )


def complete_plan(plan: Plan, song: Song, arrangement: Arrangement) -> Plan:
    """The plan with what was left to the program: part, key, octave, capo, tuning and texture."""
    nearest = transposition_to(arrangement.key, song, octave=0)
    octave = (arrangement.transposition.semitones - nearest.semitones) // 12
    return replace(
        plan,
        key=str(arrangement.key.tonic),
        capo=arrangement.capo,
        tuning=arrangement.tuning.name,
        melody_octave=octave,
        part=song.melody_source.name if song.melody_source else plan.part,
        texture=arrangement.texture,
    )


def write_outputs(arrangement: Arrangement, plan: Plan, report: bytes) -> Mapping[str, bytes]:
    return {
        PDF: engrave_pdf(arrangement, plan.page),
        MUSICXML: write_musicxml(notate_whole(plan.page, arrangement)),
        MIDI: write_midi(arrangement),
        REPORT: report,
        PLAN: write_plan(plan).encode(),
    }


@dataclass(frozen=True, slots=True)
class Lesson:
    """A lesson sheet: the text that a teacher can change, and the PDF that is made of it."""

    text: str
    pdf: bytes


def make_lesson(
    piece: Piece, levels: Mapping[str, Level], text: str | None = None, text_name: str = ""
) -> Lesson:
    """The lesson sheet of a piece; of ``text`` where a teacher has changed it (``text_name`` is its file's).

    Raises UsageError for a text that cannot be meant.
    """
    arrangement = piece.arrangement
    if text is None:
        blocks = write_lesson(study(piece, levels))
    else:
        blocks = read_lesson_text(text, text_name, arrangement)
    pdf = engrave_lesson(blocks, arrangement, piece.plan.page)
    return Lesson(write_lesson_text(blocks, arrangement.bars), pdf)


def study(piece: Piece, levels: Mapping[str, Level]) -> Studied:
    """What a lesson sheet is written from."""
    verdict = piece.verdict
    return Studied(
        arrangement=piece.arrangement,
        level=find_level(piece.plan, levels),
        hand_size=piece.plan.hand_size,
        difficulties=verdict.difficulties,
        rings=verdict.rings,
        leading=verdict.voice_leading,
        beyond_level=tuple(finding.sentence for finding in verdict.over_level),
    )


def plan_practice_set(piece: Piece, wishes: PracticeWishes) -> tuple[Track, ...]:
    """The tracks to practise a piece with; its hard bars go round."""
    hard = choose_hard_bars(piece.verdict.difficulties)
    return plan_practice(piece.arrangement, [bar.index for bar in hard], wishes)


def picture_bar(piece: Piece, number: str) -> bytes:
    """How a bar is held and heard, as PNG. Raises UsageError where no bar has the number."""
    bars = piece.arrangement.bars
    found = next((bar.index for bar in bars if bar.number == number), None)
    if found is None:
        raise UsageError(
            f"there is no bar {number} to picture. The bars go from {bars[0].number} to {bars[-1].number}."
        )
    return write_png(draw_bar_sound(piece.arrangement, found))


def _timed(work: Callable[[], Made]) -> tuple[Made, float]:
    start = perf_counter()
    return work(), perf_counter() - start
