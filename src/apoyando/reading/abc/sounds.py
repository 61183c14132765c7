"""Notes, groups, rests, and what stretches or ties them (ABC 2.1 sections 4.3 to 4.13 and 4.17)."""

from dataclasses import replace
from fractions import Fraction

from apoyando.reading.abc.barlines import PLAIN_BAR
from apoyando.reading.abc.signs import take_decoration, take_string
from apoyando.reading.abc.strange import remark_strange
from apoyando.reading.abc.tokens import Token, read_group, read_length, read_note
from apoyando.reading.abc.walk import (
    Walk,
    close_bar,
    rest,
    sound,
    stretch_last,
    take_time,
    tie_last,
)
from apoyando.reading.draft import (
    LONGEST_NOTE_QUARTERS,
    MIDI_RANGE,
    MOST_BARS,
)

_TUPLET_TIMES = {2: 3, 3: 2, 4: 3, 6: 2, 8: 3}
_TUPLETS = range(2, 33)


def take_note(walk: Walk, token: Token) -> None:
    note = read_note(token.text)
    if note is None:
        _report_length(walk, token)
        return
    if _is_playable(walk, token, note.length):
        sound(walk, (note,), take_time(walk, note.length), ties_on=note.ties_on)
        _check_pitches(walk, token, 1)


def _check_pitches(walk: Walk, token: Token, count: int) -> None:
    """The last notes must be some that MIDI has."""
    for note in walk.notes[-count:]:
        if note.pitch.midi not in MIDI_RANGE:
            what = f"The note {token.text[:20]} is out of every range."
            walk.report(what, "Take some commas or apostrophes away.", token)
            return


def take_group(walk: Walk, token: Token) -> None:
    """Notes on one stem are as long as the first of them (section 4.17)."""
    group = read_group(token.text)
    if group is None:
        walk.report(f"{token.text[:20]} is no group of notes.", "Write notes on one stem as [CEG].", token)
        return
    if group.strangers:
        remark_strange(walk, group.strangers, token)
    for text in group.strings:
        take_string(walk, replace(token, text=text))
    for text in group.decorations:
        take_decoration(walk, replace(token, text=text))
    length = group.notes[0].length * group.length
    if _is_playable(walk, token, length):
        sound(walk, group.notes, take_time(walk, length), ties_on=False)
        _check_pitches(walk, token, len(group.notes))


def _report_length(walk: Walk, token: Token) -> None:
    walk.report(
        f"The length of {token.text[:20]} cannot be meant.", "Write lengths as A2, A/2 or A3/2.", token
    )


def _is_playable(walk: Walk, token: Token, length: Fraction) -> bool:
    if length * walk.unit <= LONGEST_NOTE_QUARTERS:
        return True
    walk.report(f"{token.text[:20]} is absurdly long.", "Write lengths as A2, A/2 or A3/2.", token)
    return False


def take_rest(walk: Walk, token: Token) -> None:
    length = read_length(token.text[1:])
    if length is None:
        _report_length(walk, token)
    elif _is_playable(walk, token, length):
        duration = take_time(walk, length)
        if not (token.text[0] == "x" and walk.is_alone and walk.time == 0 and not walk.bars):
            rest(walk, duration)


def take_bars_rest(walk: Walk, token: Token) -> None:
    """So many bars of rest; without a meter a bar is as long as a whole rest."""
    length = walk.bar_meter.bar_length if walk.bar_meter else Fraction(4)
    count = int(token.text[1:] or 1)
    for place in range(min(count, MOST_BARS)):
        if place:
            close_bar(walk, PLAIN_BAR)
        rest(walk, length)


def take_tuplet(walk: Walk, token: Token) -> None:
    """(p:q:r puts p notes into the time of q for the next r notes (section 4.13)."""
    parts = [int(part) if part else 0 for part in token.text[1:].split(":")]
    count, time, reach = (*parts, 0, 0)[:3]
    is_compound = walk.meter is not None and walk.meter.is_compound
    time = time or _TUPLET_TIMES.get(count, 3 if is_compound else 2)
    if count not in _TUPLETS:
        walk.report(f"{token.text} is no tuplet.", "Write a triplet as (3abc.", token)
        return
    if walk.tuplet_left:
        walk.remark("A tuplet begins before the last one is full", token)
    walk.tuplet, walk.tuplet_left = Fraction(time, count), reach or count


def take_broken(walk: Walk, token: Token) -> None:
    """> dots the note before and halves the next; >> and >>> go further; < is the reverse."""
    short = Fraction(1, 2 ** len(token.text))
    before, after = (2 - short, short) if token.text[0] == ">" else (short, 2 - short)
    if stretch_last(walk, before):
        walk.next_factor = after
    else:
        walk.remark(f"{token.text} has no note before it and is left out", token)


def take_tie(walk: Walk, token: Token) -> None:
    if not tie_last(walk):
        walk.remark("A tie has no note before it and is left out", token)


def take_grace(walk: Walk, token: Token) -> None:
    walk.remark(f"The grace notes {token.text} are left out", token)
