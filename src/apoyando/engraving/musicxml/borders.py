"""What stands at the borders of a measure: attributes and barlines."""

from apoyando.engraving.musicxml.xmltree import Element, element
from apoyando.engraving.notation.accidentals import signature_of
from apoyando.engraving.notation.score import NotatedScore
from apoyando.model.arrangement import Arrangement
from apoyando.model.instrument import STANDARD_TUNING, STRINGS, Tuning
from apoyando.model.pitch import Key
from apoyando.model.sheet import Staves
from apoyando.model.song import Bar, Barline, Meter

PLAYED_TWICE = 2
TABLATURE_STAFF = 2
"""The number of the tablature under notation."""
_NAMES_OF_SEMITONES = ("C", "C#", "D", "D#", "E", "F", "F#", "G", "G#", "A", "A#", "B")


# --- attributes ----------------------------------------------------------------------


def attributes(score: NotatedScore, index: int, divisions: int) -> Element:
    """Everything in the first bar, later only what changes; None where nothing does."""
    bar = score.bars[index].bar
    if index == 0:
        return element(
            "attributes",
            element("divisions", divisions),
            _key(bar.key),
            _time(bar.meter),
            *_staves(score),
            _transpose(score.arrangement.capo),
        )
    before = score.bars[index - 1].bar
    changes = (
        _key(bar.key) if bar.key != before.key else None,
        _time(bar.meter) if bar.meter != before.meter else None,
    )
    return element("attributes", *changes) if any(change is not None for change in changes) else None


def _key(key: Key) -> Element:
    return element("key", element("fifths", signature_of(key)), element("mode", key.mode))


def _time(meter: Meter) -> Element:
    return element(
        "time",
        element("beats", "+".join(map(str, meter.groups)) or meter.beats),
        element("beat-type", meter.beat_unit),
        symbol=meter.symbol or None,
    )


def _staves(score: NotatedScore) -> tuple[Element, ...]:
    """One staff, or notation over tablature."""
    arrangement = score.arrangement
    match score.staves:
        case Staves.NOTATION:
            return _treble_clef(), _staff_details(arrangement)
        case Staves.TABLATURE:
            return _tablature_clef(), _tablature_details(arrangement)
        case Staves.NOTATION_AND_TABLATURE:
            return (
                element("staves", TABLATURE_STAFF),
                _treble_clef(1),
                _tablature_clef(TABLATURE_STAFF),
                _tablature_details(arrangement, TABLATURE_STAFF),
            )


def _treble_clef(staff: int | None = None) -> Element:
    octave = element("clef-octave-change", -1)
    return element("clef", element("sign", "G"), element("line", 2), octave, number=staff)


def _tablature_clef(staff: int | None = None) -> Element:
    return element("clef", element("sign", "TAB"), element("line", 5), number=staff)


def _staff_details(arrangement: Arrangement) -> Element:
    """Capo and open strings under notation.

    The standard keeps ``staff-tuning`` for tablature, and some readers take any staff that
    has it for one: so it is written only where the guitar is not tuned as usual. What a
    reader of notation is told is the scordatura (words.py).
    """
    is_usual = arrangement.tuning.open_strings == STANDARD_TUNING.open_strings
    if is_usual and not arrangement.capo:
        return None
    tunings = () if is_usual else _staff_tunings(arrangement.tuning)
    return element("staff-details", *tunings, _capo(arrangement))


def _tablature_details(arrangement: Arrangement, staff: int | None = None) -> Element:
    """Six lines, their open strings, and the capo from which frets are counted."""
    tunings = _staff_tunings(arrangement.tuning)
    lines = element("staff-lines", len(STRINGS))
    return element("staff-details", lines, *tunings, _capo(arrangement), number=staff)


def _staff_tunings(tuning: Tuning) -> tuple[Element, ...]:
    """Line 1 is the lowest string, as lines are counted from the bottom."""
    notes = ((len(STRINGS) + 1 - string, tuning.open_note(string)) for string in reversed(STRINGS))
    return tuple(element("staff-tuning", *tuning_elements(note), line=line) for line, note in notes)


def _capo(arrangement: Arrangement) -> Element:
    return element("capo", arrangement.capo) if arrangement.capo else None


def tuning_elements(midi: int) -> tuple[Element, ...]:
    """Step, alteration and octave of an open string."""
    octave, semitone = divmod(midi, 12)
    name = _NAMES_OF_SEMITONES[semitone]
    return (
        element("tuning-step", name[0]),
        element("tuning-alter", 1) if name.endswith("#") else None,
        element("tuning-octave", octave - 1),
    )


def _transpose(capo: int) -> Element:
    return element("transpose", element("chromatic", capo)) if capo else None


# --- barlines ------------------------------------------------------------------------


def left_barline(score: NotatedScore, index: int) -> Element:
    bar = score.bars[index].bar
    ending = _ending(bar, "start") if _starts_ending(score, index) else None
    if ending is None and not bar.starts_repeat:
        return None
    return element(
        "barline",
        element("bar-style", "heavy-light") if bar.starts_repeat else None,
        ending,
        element("repeat", direction="forward") if bar.starts_repeat else None,
        location="left",
    )


def right_barline(score: NotatedScore, index: int) -> Element:
    bar = score.bars[index].bar
    ending = _ending(bar, _ending_stop(bar)) if _stops_ending(score, index) else None
    if ending is None and not bar.repeat_times and bar.barline is Barline.REGULAR:
        return None
    return element("barline", _style(bar), ending, _repeat_back(bar), location="right")


def _style(bar: Bar) -> Element:
    if bar.repeat_times or bar.barline is Barline.FINAL:
        return element("bar-style", "light-heavy")
    return element("bar-style", "light-light") if bar.barline is Barline.DOUBLE else None


def _repeat_back(bar: Bar) -> Element:
    if not bar.repeat_times:
        return None
    times = bar.repeat_times if bar.repeat_times > PLAYED_TWICE else None
    after_jump = "yes" if bar.repeats_after_jump else None
    return element("repeat", direction="backward", times=times, after_jump=after_jump)


def _ending(bar: Bar, kind: str) -> Element:
    return element("ending", number=",".join(str(number) for number in bar.endings), type=kind)


def _ending_stop(bar: Bar) -> str:
    """The bracket goes down where the music turns back or the piece is over, else it stays open."""
    return "stop" if bar.repeat_times or bar.barline is not Barline.REGULAR else "discontinue"


def _starts_ending(score: NotatedScore, index: int) -> bool:
    bar = score.bars[index].bar
    follows_bracket = index > 0 and bool(score.bars[index - 1].bar.endings)
    return bool(bar.endings) and (not follows_bracket or _stops_ending(score, index - 1))


def _stops_ending(score: NotatedScore, index: int) -> bool:
    """The bracket is closed here, or the next bar stands under another one or none."""
    bar = score.bars[index].bar
    is_last = index + 1 == len(score.bars)
    return bool(bar.endings) and (
        bar.ending_stops or is_last or score.bars[index + 1].bar.endings != bar.endings
    )
