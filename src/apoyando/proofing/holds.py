"""String and finger stay for the whole of each written length."""

from collections import defaultdict
from collections.abc import Iterator

from apoyando.model.arrangement import Arrangement, Note
from apoyando.model.hand import Finger
from apoyando.model.instrument import Fret
from apoyando.proofing.certificate import Breach, Proof, Refutation, Rule, Witness, decide
from apoyando.proofing.moment import Moment, Pair, common_span, find_pairs, sweep
from apoyando.proofing.wording import name_moment, name_note, show_breach


def prove_holds(arrangement: Arrangement) -> Proof | Refutation:
    """No string and no finger is needed elsewhere while a note on it should still last.

    A note may begin at the very moment another ends. One finger is at one place, except in
    a barre: there its notes lie at one fret on different strings. So do the harmonics that one
    finger touches lying flat; on a string between them nothing sounds open or is stopped at its
    fret or below. A harmonic is held to this as long as it is written, although its finger may go
    once it sounds.
    """
    moments = sweep(arrangement.notes)
    strings = find_pairs(moments, takes_string)
    fingers = find_pairs(moments, takes_finger)
    damped = (witness for moment in moments for witness in _damped(arrangement, moment))
    proof = Proof(rule=Rule.HOLDS, notes_checked=len(arrangement.notes), moments_checked=len(moments))
    return decide(
        proof,
        [
            *(_witness(arrangement, pair, Breach.STRING_TAKEN) for pair in strings),
            *(_witness(arrangement, pair, Breach.FINGER_TAKEN) for pair in fingers),
            *damped,
        ],
    )


def takes_string(one: Note, other: Note) -> bool:
    """Whether two notes that sound together need one string."""
    return one.place.string == other.place.string


def takes_finger(one: Note, other: Note) -> bool:
    """Whether two notes that sound together need one finger in two places."""
    if one.finger is Finger.OPEN or one.finger is not other.finger or one.place == other.place:
        return False
    return not (_share_barre(one, other) or _share_touch(one, other))


def _share_barre(one: Note, other: Note) -> bool:
    return one.in_barre and other.in_barre and one.place.fret == other.place.fret


def _share_touch(one: Note, other: Note) -> bool:
    """Two harmonics that one finger touches at one fret."""
    return one.is_harmonic and other.is_harmonic and one.place.fret == other.place.fret


def _damped(arrangement: Arrangement, moment: Moment) -> Iterator[Witness]:
    """What sounds on a string that a finger lies across, touching others on both sides."""
    touched: defaultdict[tuple[Finger, Fret], list[Note]] = defaultdict(list)
    for note in moment.notes:
        if note.is_harmonic:
            touched[note.finger, note.place.fret].append(note)
    for (_, fret), notes in touched.items():
        strings = [note.place.string for note in notes]
        for other in moment.notes:
            is_between = min(strings) < other.place.string < max(strings)
            if is_between and other not in notes and other.place.fret <= fret:
                fault = f"{name_note(other)} is damped by finger {notes[0].finger}, which touches beside it"
                found = (other, *notes)
                yield show_breach(arrangement.bars, Breach.STRING_DAMPED, moment.span, fault, notes=found)


def _witness(arrangement: Arrangement, pair: Pair, breach: Breach) -> Witness:
    held, struck = pair
    needed = f"string {struck.place.string}" if breach is Breach.STRING_TAKEN else f"finger {struck.finger}"
    until = name_moment(arrangement.bars, held.offset)
    fault = f"{needed} is needed for {name_note(struck)} while {name_note(held)} lasts until {until}"
    return show_breach(arrangement.bars, breach, common_span(held.span, struck.span), fault, notes=pair)
