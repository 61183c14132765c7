"""The bars follow each other, they are the song's, and every note and voice fits into them."""

from collections.abc import Iterator

from apoyando.model.arrangement import Arrangement, Note, Role
from apoyando.model.score import Score
from apoyando.model.song import Bar, Song
from apoyando.model.time import Quarters
from apoyando.proofing.certificate import Breach, Proof, Refutation, Rule, Witness, decide
from apoyando.proofing.moment import Pair, common_span, find_pairs, sweep
from apoyando.proofing.wording import name_note, show_breach


def prove_bars(arrangement: Arrangement, song: Song) -> Proof | Refutation:
    """Bars follow without gap from 0 and are as long as the song's; every note lies in them.

    Notes of one voice never overlap, except inner notes struck together as a chord, with
    one onset and one offset.
    """
    moments = sweep(arrangement.notes)
    proof = Proof(rule=Rule.BARS, notes_checked=len(arrangement.notes), moments_checked=len(moments))
    return decide(
        proof,
        [
            *_breaks(arrangement.bars),
            *_differences(arrangement.bars, song.bars),
            *_outsiders(arrangement),
            *(_overlap(arrangement, pair) for pair in find_pairs(moments, collides)),
        ],
    )


def prove_score_bars(arrangement: Arrangement, score: Score) -> Proof | Refutation:
    """Bars follow without gap from 0 and are those of the score; every note lies in them.

    The voices of a score may overlap as they are written.
    """
    proof = Proof(rule=Rule.BARS, notes_checked=len(arrangement.notes))
    return decide(
        proof,
        [
            *_breaks(arrangement.bars),
            *_differences(arrangement.bars, score.bars),
            *_outsiders(arrangement),
        ],
    )


def collides(one: Note, other: Note) -> bool:
    """Whether two notes that sound together cannot belong to one voice, and do."""
    if one.role is not other.role:
        return False
    return one.role is not Role.INNER or one.span != other.span


def _breaks(bars: tuple[Bar, ...]) -> Iterator[Witness]:
    """Law: the first bar starts at 0, each next one where the one before ends; indices count up."""
    start = Quarters(0)
    for index, bar in enumerate(bars):
        if bar.onset != start or bar.index != index:
            fault = f"starts at quarter {bar.onset} as number {bar.index}, not at {start} as number {index}"
            yield show_breach((bar,), Breach.BARS_BROKEN, bar.span, fault)
        start = bar.offset


def _differences(bars: tuple[Bar, ...], sung: tuple[Bar, ...]) -> Iterator[Witness]:
    if len(bars) != len(sung):
        first = max(bars, sung, key=len)[min(len(bars), len(sung))]
        fault = f"the arrangement has {len(bars)} bars, the song {len(sung)}"
        yield show_breach((first,), Breach.BARS_DIFFER, first.span, fault)
    for bar, other in zip(bars, sung, strict=False):
        if (bar.span, bar.meter, bar.number) != (other.span, other.meter, other.number):
            fault = f"not the song's bar {other.number} in number, place, length or meter"
            yield show_breach((bar,), Breach.BARS_DIFFER, bar.span, fault)


def _outsiders(arrangement: Arrangement) -> Iterator[Witness]:
    bars = arrangement.bars
    end = bars[-1].offset if bars else Quarters(0)
    for note in arrangement.notes:
        if note.onset < 0 or note.offset > end:
            fault = (
                f"{name_note(note)} lasts from quarter {note.onset} to {note.offset}, the piece ends at {end}"
            )
            yield show_breach(bars, Breach.OUTSIDE_PIECE, note.span, fault, notes=(note,))


def _overlap(arrangement: Arrangement, pair: Pair) -> Witness:
    one, other = pair
    fault = f"{name_note(one)} and {name_note(other)}, both {one.role}, overlap"
    span = common_span(one.span, other.span)
    return show_breach(arrangement.bars, Breach.VOICE_OVERLAP, span, fault, notes=pair)
