"""String and finger stay for the whole of each written length."""

from apoyando.model.arrangement import Arrangement, Note
from apoyando.model.hand import Finger
from apoyando.proofing.certificate import Breach, Proof, Refutation, Rule, Witness, decide
from apoyando.proofing.moment import Pair, common_span, find_pairs, sweep
from apoyando.proofing.wording import name_moment, name_note, show_breach


def prove_holds(arrangement: Arrangement) -> Proof | Refutation:
    """No string and no finger is needed elsewhere while a note on it should still last.

    A note may begin at the very moment another ends. One finger is at one place, except in
    a barre: there its notes lie at one fret on different strings.
    """
    moments = sweep(arrangement.notes)
    strings = find_pairs(moments, takes_string)
    fingers = find_pairs(moments, takes_finger)
    proof = Proof(rule=Rule.HOLDS, notes_checked=len(arrangement.notes), moments_checked=len(moments))
    return decide(
        proof,
        [
            *(_witness(arrangement, pair, Breach.STRING_TAKEN) for pair in strings),
            *(_witness(arrangement, pair, Breach.FINGER_TAKEN) for pair in fingers),
        ],
    )


def takes_string(one: Note, other: Note) -> bool:
    """Whether two notes that sound together need one string."""
    return one.place.string == other.place.string


def takes_finger(one: Note, other: Note) -> bool:
    """Whether two notes that sound together need one finger in two places."""
    if one.finger is Finger.OPEN or one.finger is not other.finger or one.place == other.place:
        return False
    return not _share_barre(one, other)


def _share_barre(one: Note, other: Note) -> bool:
    return one.in_barre and other.in_barre and one.place.fret == other.place.fret


def _witness(arrangement: Arrangement, pair: Pair, breach: Breach) -> Witness:
    held, struck = pair
    needed = f"string {struck.place.string}" if breach is Breach.STRING_TAKEN else f"finger {struck.finger}"
    until = name_moment(arrangement.bars, held.offset)
    fault = f"{needed} is needed for {name_note(struck)} while {name_note(held)} lasts until {until}"
    return show_breach(arrangement.bars, breach, common_span(held.span, struck.span), fault, notes=pair)
