"""The whole way on one page: read, arrange and finger, prove, measure, write.

    bytes ─reading→ Song ─arranging→ Arrangement ─proofing→ Certificate
                                          └─engraving, sound, report→ bytes by suffix

Nothing leaves here that has not been certified. A refutation is a bug of the program, not
a fault of the song, and is an ordinary exception.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from time import perf_counter

from apoyando.arranging import arrange_song, compare_keys, transposition_to
from apoyando.engraving import engrave_pdf, notate, write_musicxml
from apoyando.model.arrangement import Arrangement
from apoyando.model.errors import UsageError
from apoyando.model.level import Level
from apoyando.model.plan import Plan
from apoyando.model.song import Song
from apoyando.proofing import Certificate, find_over_level, find_rings, prove_arrangement
from apoyando.reading import read_song, write_plan
from apoyando.report import ComparedKey, Entry, Verdict, describe_piece, encode_report
from apoyando.sound import write_midi
from apoyando.teaching import choose_hard_bars, find_voice_leading, measure_difficulty

MUSICXML, PDF, MIDI, REPORT, PLAN = ".musicxml", ".pdf", ".mid", ".report.json", ".plan.toml"
OUTPUT_SUFFIXES = (PDF, MUSICXML, MIDI, REPORT, PLAN)


class RefutedArrangementError(Exception):
    """The search made something that the proofing room refutes: a bug, shown by its witnesses."""

    def __init__(self, certificate: Certificate) -> None:
        self.certificate = certificate
        first, *others = certificate.witnesses
        more = f" (and {len(others)} more)" if others else ""
        super().__init__(f"{certificate.refutations[0].rule}: {first.sentence}{more}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """A song's piece with its proof. ``outputs`` are whole files by the suffix of their names.

    ``plan`` holds every decision that was made; with it the same song gives the same bytes.
    """

    song: Song
    plan: Plan
    arrangement: Arrangement
    certificate: Certificate
    report: Entry
    outputs: Mapping[str, bytes]


def make_piece(
    data: bytes, file_name: str, plan: Plan, levels: Mapping[str, Level], *, is_timed: bool = False
) -> Piece:
    """From a song's file to everything that is made of it.

    With ``is_timed`` the report tells the seconds of the search, and is no longer the same
    from run to run. Raises SongError, UsageError; RefutedArrangementError is a bug.
    """
    level = find_level(plan, levels)
    song = read_song(data, file_name)
    arrangement, seconds = _timed(lambda: arrange_song(song, plan, level))
    verdict = judge(arrangement, song, level, plan.hand_size)
    decided = complete_plan(plan, song, arrangement)
    report = describe_piece(song, arrangement, verdict, seconds if is_timed else None, plan.locks)
    return Piece(
        song=song,
        plan=decided,
        arrangement=arrangement,
        certificate=verdict.certificate,
        report=report,
        outputs=write_outputs(arrangement, decided, encode_report(report)),
    )


def compare_song_keys(
    data: bytes, file_name: str, plan: Plan, levels: Mapping[str, Level]
) -> tuple[ComparedKey, ...]:
    """The song in each of the twelve keys. Raises SongError, UsageError."""
    level = find_level(plan, levels)
    return tuple(
        ComparedKey(each, choose_hard_bars(measure_difficulty(each.arrangement, level, plan.hand_size)))
        for each in compare_keys(read_song(data, file_name), plan, level)
    )


def find_level(plan: Plan, levels: Mapping[str, Level]) -> Level:
    if plan.level not in levels:
        raise UsageError(f"there is no level {plan.level}. The levels are: {', '.join(levels)}.")
    return levels[plan.level]


def judge(arrangement: Arrangement, song: Song, level: Level, hand_size: float) -> Verdict:
    """The proof that the piece can be played as written, and how hard it is.

    Raises RefutedArrangementError.
    """
    certificate = prove_arrangement(arrangement, song, level, hand_size)
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
    """The plan with the decisions that were left to the program: key and octave."""
    nearest = transposition_to(arrangement.key, song, octave=0)
    octave = (arrangement.transposition.semitones - nearest.semitones) // 12
    return replace(plan, key=str(arrangement.key.tonic), melody_octave=octave)


def write_outputs(arrangement: Arrangement, plan: Plan, report: bytes) -> Mapping[str, bytes]:
    return {
        PDF: engrave_pdf(arrangement),
        MUSICXML: write_musicxml(notate(arrangement)),
        MIDI: write_midi(arrangement),
        REPORT: report,
        PLAN: write_plan(plan).encode(),
    }


def _timed(work: Callable[[], Arrangement]) -> tuple[Arrangement, float]:
    start = perf_counter()
    return work(), perf_counter() - start
