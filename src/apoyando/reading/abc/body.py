"""Tokens of one voice to notes, chords and bars (ABC 2.1 sections 4 and 5)."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import pairwise

from apoyando.model.song import Jump
from apoyando.reading.abc.barlines import PLAIN_BAR, read_bar_sign
from apoyando.reading.abc.fields import (
    read_key,
    read_meter,
    read_sounding,
    read_tempo,
    read_unit,
    remark_on_tempo,
)
from apoyando.reading.abc.lyrics import Slot, align_symbols, align_words
from apoyando.reading.abc.text import read_text
from apoyando.reading.abc.tokens import Token, read_group, read_length, read_note
from apoyando.reading.abc.tunebook import Line
from apoyando.reading.abc.voices import VoiceLine
from apoyando.reading.abc.walk import (
    Mark,
    VoiceSetting,
    Walk,
    add_mark,
    close_bar,
    open_ending,
    rest,
    sound,
    stretch_last,
    take_time,
    tie_last,
)
from apoyando.reading.chord_symbols import describe_unread_chord, read_chord_symbol
from apoyando.reading.draft import (
    LONGEST_BAR_QUARTERS,
    LONGEST_NOTE_QUARTERS,
    MIDI_RANGE,
    MOST_BARS,
    MOST_NOTES,
    DraftChord,
)
from apoyando.reading.form import read_jump_words, read_passes

_MOST_STRANGE = 100
_MOST_PROBLEMS = 20
_ANNOTATION_SIGNS = "^_<>@"
_JUMPS = {
    "segno": Jump.SEGNO,
    "coda": Jump.CODA,
    "D.S.": Jump.DAL_SEGNO,
    "D.S.alcoda": Jump.DAL_SEGNO,
    "D.S.alfine": Jump.DAL_SEGNO,
    "D.C.": Jump.DA_CAPO,
    "D.C.alcoda": Jump.DA_CAPO,
    "D.C.alfine": Jump.DA_CAPO,
    "dacapo": Jump.DA_CAPO,
    "dalsegno": Jump.DAL_SEGNO,
    "dacoda": Jump.TO_CODA,
    "tocoda": Jump.TO_CODA,
    "fine": Jump.FINE,
}
_JUMP_TEXTS = {
    "D.S.alcoda": "D.S. al Coda",
    "D.S.alfine": "D.S. al Fine",
    "D.C.alcoda": "D.C. al Coda",
    "D.C.alfine": "D.C. al Fine",
    "dacapo": "Da Capo",
    "dalsegno": "Dal Segno",
}
_FERMATAS = frozenset({"fermata", "invertedfermata"})
_EXPRESSIONS = frozenset(
    """trill lowermordent uppermordent mordent pralltriller roll turn turnx invertedturn invertedturnx arpeggio
    accent emphasis tenuto staccato wedge snap slide breath pppp ppp pp p mp mf f ff fff ffff sfz crescendo
    diminuendo""".split()  # noqa: SIM905 - a list to read
)
"""Decorations that say how to play, not what (section 4.14); they are not carried over."""
_BEGINNINGS = {
    ">": "accent",
    "trill(": "trill",
    "crescendo(": "crescendo",
    "<(": "crescendo",
    "diminuendo(": "diminuendo",
    ">(": "diminuendo",
}
"""Other names of some of them, and where a longer sign begins."""
_OF_NO_MATTER = frozenset(
    """trill) crescendo) <) diminuendo) >) 0 1 2 3 4 5 + plus upbow downbow open thumb shortphrase
    mediumphrase longphrase nil none editorial courtesy""".split()  # noqa: SIM905 - a list to read
)
"""Ends of what has begun, the hands on other instruments, and signs of the page."""

_TUPLET_TIMES = {2: 3, 3: 2, 4: 3, 6: 2, 8: 3}
_TUPLETS = range(2, 33)


def walk_voice(lines: Sequence[VoiceLine], setting: VoiceSetting, *, is_strict: bool, is_alone: bool) -> Walk:
    """Everything that a voice says. ``is_strict``: words are aligned by ABC 2.1, else by 2.0."""
    walk = Walk.at_start(setting, is_alone=is_alone)
    words = _Words()
    for item in lines:
        if len(walk.problems) >= _MOST_PROBLEMS or _is_absurd(walk, item.line):
            break
        if item.line.field in ("w", "s"):
            _align(walk, words, item.line, is_strict=is_strict)
        elif item.line.field:
            _take_field(walk, item.line.field, item.line.text, Token("field", "", item.line.number, 1))
        else:
            _start_line(words, len(walk.events), is_joined=item.is_joined)
            _walk_tokens(walk, item.tokens)
            _end_line(walk)
    _end_voice(walk)
    return walk


def _end_line(walk: Walk) -> None:
    """A line that ends with its bar full ends the bar, whether or not a bar sign says so."""
    if walk.meter and not walk.is_overlaid and walk.time - walk.bar_start == walk.meter.bar_length:
        close_bar(walk, PLAIN_BAR)


def _end_voice(walk: Walk) -> None:
    """The end of the tune ends the last bar, and an ending that is still open."""
    close_bar(walk, PLAIN_BAR)
    if walk.bars and walk.bars[-1].endings:
        walk.bars[-1] = replace(walk.bars[-1], ending_stops=True)


def _is_absurd(walk: Walk, line: Line) -> bool:
    if len(walk.bars) <= MOST_BARS and len(walk.notes) <= MOST_NOTES:
        return False
    token = Token("", "", line.number, 1)
    walk.report("The tune is absurdly long.", "Save a shorter piece.", token)
    return True


def _walk_tokens(walk: Walk, tokens: Sequence[Token]) -> None:
    before = Token("", "", 0, 0)
    for token in tokens:
        if walk.is_overlaid and token.kind != "bar":
            continue
        if token.kind == "digits":
            _take_digits(walk, token, before)
        else:
            _READERS[token.kind](walk, token)
        if walk.time - walk.bar_start > LONGEST_BAR_QUARTERS:
            walk.report("The bar is absurdly long.", "Write bar lines: |", token)
            walk.bar_start = walk.time
        before = token


def _take_note(walk: Walk, token: Token) -> None:
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


def _take_group(walk: Walk, token: Token) -> None:
    """Notes on one stem are as long as the first of them (section 4.17)."""
    group = read_group(token.text)
    if group is None:
        walk.report(f"{token.text[:20]} is no group of notes.", "Write notes on one stem as [CEG].", token)
        return
    if group.strangers:
        _remark_strange(walk, group.strangers, token)
    for text in group.strings:
        _take_string(walk, replace(token, text=text))
    for text in group.decorations:
        _take_decoration(walk, replace(token, text=text))
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


def _take_rest(walk: Walk, token: Token) -> None:
    length = read_length(token.text[1:])
    if length is None:
        _report_length(walk, token)
    elif _is_playable(walk, token, length):
        duration = take_time(walk, length)
        if not (token.text[0] == "x" and walk.is_alone and walk.time == 0 and not walk.bars):
            rest(walk, duration)


def _take_bars_rest(walk: Walk, token: Token) -> None:
    """So many bars of rest; without a meter a bar is as long as a whole rest."""
    length = walk.bar_meter.bar_length if walk.bar_meter else Fraction(4)
    count = int(token.text[1:] or 1)
    for place in range(min(count, MOST_BARS)):
        if place:
            close_bar(walk, PLAIN_BAR)
        rest(walk, length)


def _take_bar(walk: Walk, token: Token) -> None:
    close_bar(walk, read_bar_sign(token.text))


def _take_ending(walk: Walk, token: Token) -> None:
    """[1 or, in the wild, ["1st time" and ["Coda"."""
    words = read_text(token.text[1:].strip('"'))
    jump = read_jump_words(words)
    if jump:
        walk.marks.append(Mark(jump, words, walk.time))
    elif words[:1].isalpha() and not read_passes(words):
        walk.section = words[:60]
    else:
        _start_ending(walk, token, read_passes(words))


def _take_digits(walk: Walk, token: Token, before: Token) -> None:
    """Figures after a bar sign open an ending; anywhere else they mean nothing."""
    if before.kind == "bar":
        _start_ending(walk, token, read_passes(token.text))
    else:
        _remark_strange(walk, token.text, token)


def _start_ending(walk: Walk, token: Token, passes: tuple[int, ...]) -> None:
    if not passes:
        _remark_strange(walk, token.text, token)
        return
    if walk.time > walk.bar_start:
        close_bar(walk, PLAIN_BAR)
    open_ending(walk, passes)


def _take_tuplet(walk: Walk, token: Token) -> None:
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


def _take_broken(walk: Walk, token: Token) -> None:
    """> dots the note before and halves the next; >> and >>> go further; < is the reverse."""
    short = Fraction(1, 2 ** len(token.text))
    before, after = (2 - short, short) if token.text[0] == ">" else (short, 2 - short)
    if stretch_last(walk, before):
        walk.next_factor = after
    else:
        walk.remark(f"{token.text} has no note before it and is left out", token)


def _take_tie(walk: Walk, token: Token) -> None:
    if not tie_last(walk):
        walk.remark("A tie has no note before it and is left out", token)


def _take_grace(walk: Walk, token: Token) -> None:
    walk.remark(f"The grace notes {token.text} are left out", token)


def _take_string(walk: Walk, token: Token) -> None:
    """A chord symbol, or an annotation where the text begins with a sign of place (4.18, 4.19)."""
    for text in token.text[1:-1].replace("\\n", ";").split(";"):
        if not text.strip():
            continue
        if text[0] in _ANNOTATION_SIGNS:
            _take_annotation(walk, read_text(text[1:]), token)
        else:
            _take_chord(walk, read_text(text), token)


def _take_chord(walk: Walk, text: str, token: Token) -> None:
    jump = read_jump_words(text)
    reading = None if jump else read_chord_symbol(text)
    if jump:
        walk.marks.append(Mark(jump, text, walk.time))
    elif reading is None:
        walk.remark(describe_unread_chord(text).rstrip("."), token)
    else:
        walk.chords.append(DraftChord(walk.time, reading.chord))
        if reading.ignored:
            walk.remark(f"In the chord “{text}” “{reading.ignored}” is not understood and left out", token)


def _take_annotation(walk: Walk, text: str, token: Token) -> None:
    jump = read_jump_words(text)
    if jump:
        walk.marks.append(Mark(jump, text, walk.time))
    elif text:
        walk.remark(f"The text “{text}” is not carried over", token)


def _take_decoration(walk: Walk, token: Token) -> None:
    name = token.text[1:-1] if len(token.text) > 1 else walk.setting.symbols.get(token.text, "nil")
    if name.startswith('"'):
        _take_string(walk, replace(token, text=f"{name.rstrip(chr(34))}{chr(34)}"))
    elif name in _JUMPS:
        walk.marks.append(Mark(_JUMPS[name], _JUMP_TEXTS.get(name, ""), walk.time))
    elif name in _FERMATAS:
        walk.has_fermata = True
    elif (sign := _BEGINNINGS.get(name, name)) in _EXPRESSIONS:
        walk.expression.append((len(walk.bars), sign))
    elif name not in _OF_NO_MATTER:
        walk.remark(f"The decoration {token.text} is not known and left out", token)


def _take_overlay(walk: Walk, token: Token) -> None:
    """Only the first layer of an overlaid bar is read (section 7.4)."""
    walk.remark("What is laid over the bar with & is left out", token)
    walk.is_overlaid = True


def _take_inline(walk: Walk, token: Token) -> None:
    _take_field(walk, token.text[1], token.text[3:-1], token)


def _skip(walk: Walk, token: Token) -> None:
    """Slurs, spacers and reserved characters have no time of their own."""


def _take_other(walk: Walk, token: Token) -> None:
    unclosed = _UNCLOSED.get(token.text)
    if unclosed:
        walk.report(unclosed[0], unclosed[1], token)
    else:
        _remark_strange(walk, token.text, token)


_UNCLOSED = {
    '"': ("A quotation mark is not closed.", 'Write chord symbols as "Am".'),
    "{": ("The bracket of a grace note is not closed.", "Write grace notes as {g}."),
    "[": ("A bracket is not closed.", "Write notes on one stem as [CEG]."),
}


def _remark_strange(walk: Walk, text: str, token: Token) -> None:
    walk.strange += 1
    if walk.strange == _MOST_STRANGE:
        walk.report("Most of this is not ABC.", "Look at the file in a text editor.", token)
    elif walk.strange < _MOST_STRANGE:
        walk.remark(f"“{text[:20]}” is not understood and left out", token)


def _take_field(walk: Walk, letter: str, text: str, token: Token) -> None:
    reader = _FIELD_READERS.get(letter)
    if reader:
        reader(walk, text, token)


def _take_meter(walk: Walk, text: str, token: Token) -> None:
    meter = read_meter(text)
    if isinstance(meter, str):
        walk.report(meter, "", token)
        return
    walk.meter = meter
    if walk.time == walk.bar_start:
        walk.bar_meter = meter


def _take_unit(walk: Walk, text: str, token: Token) -> None:
    unit = read_unit(text)
    if unit is None:
        walk.report(f"The note length L:{text.strip()} is not understood.", "Write it as L:1/8.", token)
    else:
        walk.unit = unit


def _take_key(walk: Walk, text: str, token: Token) -> None:
    key = read_key(text)
    if isinstance(key, str):
        walk.report(key, "", token)
        return
    walk.key = key
    walk.in_bar = {}
    walk.sounding = read_sounding(text, walk.sounding)
    if walk.time == walk.bar_start:
        walk.bar_key = key


def _take_tempo(walk: Walk, text: str, token: Token) -> None:
    tempo, words = read_tempo(text, walk.unit)
    if walk.time == 0 and walk.tempo is None and not walk.tempo_words:
        walk.tempo, walk.tempo_words = tempo, words
        if odd := remark_on_tempo(text, tempo):
            walk.remark(odd, token)
    else:
        walk.remark(f"The change of tempo Q:{text.strip()} is not carried over", token)


def _take_section(walk: Walk, text: str, _: Token) -> None:
    walk.section = read_text(text)[:60]


def _take_title(walk: Walk, text: str, _: Token) -> None:
    """A title inside the tune names a section, unless P: has named it."""
    walk.section = walk.section or read_text(text)[:60]


def _take_voice(walk: Walk, text: str, _: Token) -> None:
    walk.sounding = read_sounding(text, walk.sounding)


def _take_instruction(walk: Walk, text: str, _: Token) -> None:
    if not text.strip():
        return
    name, *rest_of_text = text.split(maxsplit=1)
    value = rest_of_text[0] if rest_of_text else ""
    if name == "propagate-accidentals" and value.strip() in ("not", "octave", "pitch"):
        walk.accidentals = value.strip()


_FIELD_READERS: dict[str, Callable[[Walk, str, Token], None]] = {
    "M": _take_meter,
    "L": _take_unit,
    "K": _take_key,
    "Q": _take_tempo,
    "P": _take_section,
    "T": _take_title,
    "V": _take_voice,
    "I": _take_instruction,
    "%%": _take_instruction,
}
_READERS: dict[str, Callable[[Walk, Token], None]] = {
    "inline": _take_inline,
    "string": _take_string,
    "decoration": _take_decoration,
    "symbol": _take_decoration,
    "grace": _take_grace,
    "ending": _take_ending,
    "bar": _take_bar,
    "group": _take_group,
    "tuplet": _take_tuplet,
    "overlay": _take_overlay,
    "overlay_line": _take_overlay,
    "tie": _take_tie,
    "slur": _skip,
    "note": _take_note,
    "rest": _take_rest,
    "bars_rest": _take_bars_rest,
    "spacer": _skip,
    "broken": _take_broken,
    "reserved": _skip,
    "other": _take_other,
}


@dataclass(slots=True)
class _Words:
    """Which events the next w: or s: line is for; events are counted from the voice's start."""

    is_joined: bool = False
    line_start: int = 0
    set_until: int = 0
    heard: int = 0
    verse: int = 0


def _start_line(words: _Words, event: int, *, is_joined: bool) -> None:
    """A line of music begins; after a backslash it goes on."""
    words.set_until = max(words.set_until, words.heard)
    words.verse = 0
    if not words.is_joined:
        words.line_start = event
    words.is_joined = is_joined


def _align(walk: Walk, words: _Words, line: Line, *, is_strict: bool) -> None:
    """Set words to the notes since the last words (2.1), or to the line of music before them (2.0)."""
    start = words.set_until if is_strict else words.line_start
    slots = _slots(walk, start)
    token = Token("field", "", line.number, 1)
    if line.field == "s":
        _set_symbols(walk, line.text, slots, token)
        return
    words.verse += 1
    words.heard = len(walk.events)
    lyrics, excess = align_words(line.text.rstrip("\\ "), slots, words.verse)
    for place, lyric in lyrics.items():
        walk.notes[place] = replace(walk.notes[place], lyrics=(*walk.notes[place].lyrics, lyric))
    if excess:
        walk.remark(f"The words have {excess} more syllables than there are notes", token)


def _slots(walk: Walk, start: int) -> list[Slot]:
    """The notes from an event on that can take a syllable: the first of each group, no rests."""
    firsts = [event.first_note for event in walk.events[start:]]
    return [
        Slot(first, walk.note_bars[first])
        for first, end in pairwise((*firsts, len(walk.notes)))
        if first < end
    ]


def _set_symbols(walk: Walk, text: str, slots: Sequence[Slot], token: Token) -> None:
    now, marks = walk.time, walk.marks
    for symbol, place in align_symbols(text, slots):
        walk.time, walk.marks = walk.notes[place].onset, []
        reader = _take_string if symbol.startswith('"') else _take_decoration
        reader(walk, replace(token, text=symbol))
        if walk.has_fermata:
            walk.notes[place] = replace(walk.notes[place], has_fermata=True)
            walk.has_fermata = False
        marks = [*marks, *(mark for mark in walk.marks if not add_mark(walk, walk.note_bars[place], mark))]
    walk.time, walk.marks = now, marks
