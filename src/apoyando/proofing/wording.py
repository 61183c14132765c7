"""How places, notes and breaches are called in a sentence for the player."""

from fractions import Fraction

from apoyando.model.arrangement import Barre, Note
from apoyando.model.beat import count_beat, name_count
from apoyando.model.hand import Finger, roman
from apoyando.model.note_values import VALUE_NAMES
from apoyando.model.song import Bar, bar_at
from apoyando.model.time import Quarters, Span
from apoyando.proofing.certificate import Breach, Witness


def show_breach(
    bars: tuple[Bar, ...],
    breach: Breach,
    span: Span,
    fault: str,
    *,
    notes: tuple[Note, ...] = (),
    barres: tuple[Barre, ...] = (),
) -> Witness:
    """The witness of a breach; ``fault`` follows the place in its sentence, without full stop."""
    return Witness(
        breach=breach,
        bar=bar_number(bars, span.onset),
        onset=span.onset,
        offset=span.offset,
        sentence=say(bars, span.onset, fault),
        notes=notes,
        barres=barres,
    )


def say(bars: tuple[Bar, ...], moment: Quarters, fault: str) -> str:
    """A sentence: "Bar 3, beat 2: …."."""
    where = name_moment(bars, moment)
    return f"{where[0].upper()}{where[1:]}: {fault}."


def bar_number(bars: tuple[Bar, ...], moment: Quarters) -> str:
    """The printed number of the bar in which a moment lies; "" if there are no bars."""
    return bar_at(bars, moment).number if bars else ""


def name_moment(bars: tuple[Bar, ...], moment: Quarters) -> str:
    """Where a moment lies, in beats of the meter: "bar 3, beat 2½"."""
    if not bars:
        return f"quarter {moment}"
    bar = bar_at(bars, moment)
    return f"bar {bar.number}, beat {name_count(count_beat(bar, moment))}"


def name_note(note: Note) -> str:
    """A note with its place and finger: "F# (finger 2, string 4 fret 4)"."""
    finger = "" if note.place.is_open else f"finger {note.finger}, "
    touched = "harmonic, " if note.is_harmonic else ""
    return f"{note.pitch.name} ({touched}{finger}{note.place})"


def name_barre(barre: Barre) -> str:
    """A barre as it stands over the staff, with the strings it covers."""
    finger = "" if barre.finger is Finger.INDEX else f" of finger {barre.finger}"
    return (
        f"the barre{finger} at {roman(barre.fret)} (strings {barre.lowest_string} to {barre.highest_string})"
    )


def name_length(quarters: Quarters) -> str:
    """A length by its note value: "an eighth"; "5 quarters", "1/5 of a quarter" where none has it."""
    if quarters in VALUE_NAMES:
        name = VALUE_NAMES[quarters]
        return f"{'an' if name.startswith('e') else 'a'} {name}"
    return f"{quarters} of a quarter" if quarters < 1 else f"{name_count(quarters)} quarters"


def name_tempo(quarters_per_minute: Fraction) -> str:
    """A tempo as it stands over the staff: "♩ = 96"."""
    return f"♩ = {float(quarters_per_minute):g}"
