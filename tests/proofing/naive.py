"""The rules of the hand said once more, slowly: sample every 64th note and look at all pairs.

Written from design.md, section 4, without the code under test and without the model's
geometry, so that an error there shows here.
"""

from collections.abc import Iterator
from fractions import Fraction
from itertools import combinations

from apoyando.model.arrangement import Arrangement, Barre, Note, Role
from apoyando.model.level import Level

SIXTY_FOURTH = Fraction(1, 16)


def samples(arrangement: Arrangement) -> Iterator[tuple[Fraction, list[Note], list[Barre]]]:
    """Each 64th of the piece: what sounds, and which barres lie."""
    moment, end = Fraction(0), max((note.span.offset for note in arrangement.notes), default=Fraction(0))
    while moment < end:
        notes = [n for n in arrangement.notes if n.span.onset <= moment < n.span.offset]
        barres = [b for b in arrangement.barres if b.span.onset <= moment < b.span.offset]
        yield moment, notes, barres
        moment += SIXTY_FOURTH


def tip(string: int, fret: int) -> tuple[float, float]:
    """Where a finger tip lies: 650 mm scale, a quarter of a fret behind the wire, strings 43 → 58 mm."""

    def wire(n: int) -> float:
        return 650 - 650 / 2 ** (n / 12)

    x = 0.75 * wire(fret) + 0.25 * wire(fret - 1)
    gap = (43 + (58 - 43) * x / 650) / 5
    return x, -gap * (string - 3.5)


def gap_mm(one: tuple[int, int], other: tuple[int, int]) -> float:
    (x1, y1), (x2, y2) = tip(*one), tip(*other)
    return float(((x2 - x1) ** 2 + (y2 - y1) ** 2) ** 0.5)


def spot(note: Note) -> tuple[int, int]:
    return note.place.string, note.place.fret


def keeps_strings(arrangement: Arrangement) -> bool:
    return all(len({n.place.string for n in notes}) == len(notes) for _, notes, _ in samples(arrangement))


def keeps_fingers(arrangement: Arrangement) -> bool:
    for _, notes, _ in samples(arrangement):
        for finger in (1, 2, 3, 4):
            mine = [n for n in notes if n.finger == finger]
            spots = {spot(n) for n in mine}
            is_barre = all(n.in_barre for n in mine) and len({f for _, f in spots}) == 1
            if len(spots) > 1 and not is_barre:
                return False
    return True


def lies_in_order(arrangement: Arrangement) -> bool:
    for _, notes, _ in samples(arrangement):
        stopped = sorted((n for n in notes if n.finger > 0), key=lambda n: n.finger)
        for low, high in combinations(stopped, 2):
            if low.finger == high.finger:
                continue
            (low_string, low_fret), (high_string, high_fret) = spot(low), spot(high)
            if low_fret > high_fret or (low_fret == high_fret and low_string < high_string):
                return False
    return True


def lies_in_reach(arrangement: Arrangement, level: Level, hand_size: float = 1.0) -> bool:
    for _, notes, barres in samples(arrangement):
        stopped = sorted((n for n in notes if n.finger > 0), key=lambda n: n.finger)
        for low, high in combinations(stopped, 2):
            if low.finger < high.finger:
                most = level.spans[low.finger, high.finger].outermost_mm * hand_size
                is_flat = under(low, barres) or under(high, barres)  # then it counts from the barre, below
                if not is_flat and gap_mm(spot(low), spot(high)) > most + 1e-6:
                    return False
        for barre in barres:
            for note in stopped:
                if note.finger != barre.finger:
                    pair = min(note.finger, barre.finger), max(note.finger, barre.finger)
                    most = level.spans[pair].outermost_mm * hand_size
                    covered = range(barre.highest_string, barre.lowest_string + 1)
                    if min(gap_mm((s, barre.fret), spot(note)) for s in covered) > most + 1e-6:
                        return False
    return True


def under(note: Note, barres: list[Barre]) -> bool:
    return any(
        b.finger == note.finger
        and b.fret == note.place.fret
        and b.highest_string <= note.place.string <= b.lowest_string
        for b in barres
    )


def lays_barres(arrangement: Arrangement) -> bool:
    used, covered = set(), set()
    for _, notes, barres in samples(arrangement):
        if not all(follow(*pair) for pair in combinations(sorted(barres, key=lambda b: b.finger), 2)):
            return False
        if not all(goes_with(note, barre) for note in notes for barre in barres):
            return False
        for finger in (1, 2, 3, 4):
            flat = [note for note in notes if note.in_barre and note.finger == finger]
            mine = [barre for barre in barres if barre.finger == finger]
            if not mine and len({spot(note) for note in flat}) > 1:
                return False  # a tip besides, outside the barre, is a matter of the holds
            if mine:
                covered |= {id(note) for note in flat}
            if flat:
                used |= {id(barre) for barre in mine}
    wholly_used = all(id(barre) in used for barre in arrangement.barres)
    return wholly_used and all(id(note) in covered for note in arrangement.notes if note.in_barre)


def follow(low: Barre, high: Barre) -> bool:
    """Whether two barres, the one of the lower-numbered finger first, can lie at once."""
    if low.finger == high.finger:
        return False
    return (low.fret, -low.highest_string) < (high.fret, -high.lowest_string)


def goes_with(note: Note, barre: Barre) -> bool:
    """Whether a sounding note and a barre that lies are possible together."""
    string, fret = spot(note)
    is_under = barre.highest_string <= string <= barre.lowest_string
    if note.finger == 0:
        return not is_under
    if note.finger == barre.finger:
        return note.in_barre and fret == barre.fret and is_under
    if fret == barre.fret:  # the lower number on the lower-pitched string
        return not is_under and (note.finger < barre.finger) == (string > barre.lowest_string)
    if note.finger > barre.finger:
        return fret > barre.fret
    return fret < barre.fret and not is_under


def keeps_melody_on_top(arrangement: Arrangement) -> bool:
    for _, notes, _ in samples(arrangement):
        heights = {role: [n.pitch.midi for n in notes if n.role is role] for role in Role}
        below = heights[Role.BASS] + heights[Role.INNER]
        if heights[Role.MELODY] and below and max(below) >= min(heights[Role.MELODY]):
            return False
        bass, inner = heights[Role.BASS], heights[Role.INNER]
        if bass and inner and max(bass) >= min(inner):
            return False
    return True
