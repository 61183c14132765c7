"""Ends of rings and remedies in words."""

from apoyando.model.arrangement import Barre, Note
from apoyando.model.hand import roman
from apoyando.model.ring import Ending
from apoyando.model.time import Quarters
from apoyando.proofing.ring.obstacles import position_of
from apoyando.proofing.ring.scene import Scene
from apoyando.proofing.ring.walk import Change, End
from apoyando.proofing.wording import name_barre, name_moment, name_note


def say_ending(scene: Scene, note: Note, end: End) -> str:
    ending, taker, barre = end.obstacle.ending, end.obstacle.taker, end.obstacle.barre
    when = name_moment(scene.arrangement.bars, end.until)
    if ending is Ending.PIECE_ENDS:
        return "the end of the piece"
    if barre:
        return f"{when}: {_say_barre(ending, barre, taker)}"
    return f"{when}: {_say_taker(ending, note, taker) if taker else ending}"


def _say_barre(ending: Ending, barre: Barre, taker: Note | None) -> str:
    reason = f" for {name_note(taker)}" if taker else ""
    if ending is Ending.BARRE_TIRES:
        return f"{name_barre(barre)} has lain for as long as the level allows"
    return f"{name_barre(barre)} is laid{reason}"


def _say_taker(ending: Ending, note: Note, taker: Note) -> str:
    named = name_note(taker)
    return {
        Ending.STRUCK_AGAIN: f"it is struck again on string {note.place.string}",
        Ending.STRING_STRUCK: f"string {note.place.string} is struck for {named}",
        Ending.FINGER_MOVES: f"finger {note.finger} is needed for {named}",
        Ending.BARRE_LIFTED: f"the barre is lifted for {named}",
        Ending.FINGERS_CROSS: f"finger {note.finger} would cross finger {taker.finger} at {named}",
        Ending.HAND_SHIFTS: f"the hand goes to position {roman(position_of(taker))} for {named}",
    }.get(ending, f"the hand cannot reach {named} besides")


def say_remedy(scene: Scene, note: Note, change: Change, until: Quarters) -> str:
    whose = "it" if change.note is note else name_note(change.note)
    does = f"with {whose} {_say_instead(change)}"
    if change.instead is None:
        does = f"with {whose} left out"
    return f"{does} it rings until {name_moment(scene.arrangement.bars, until)}"


def _say_instead(change: Change) -> str:
    old, new = change.note, change.instead
    if new is None:
        return ""
    if new.place == old.place:
        return f"played by finger {new.finger}"
    return f"played on {new.place}" + ("" if new.place.is_open else f" by finger {new.finger}")
