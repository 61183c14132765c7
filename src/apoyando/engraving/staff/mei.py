"""The piece as MEI 5, for the layout program.

Only what takes room along the line is written: notes, rests, ties, tuplets, fermatas,
rolls, barlines, signatures, and the chord symbols and the words that are sung (as plain text of
about their width; the page prints them anew). Titles, marks and rows above the staff are the page's own business.

Ids: notes keep the ids of the notated score, the bar with index 3 is ``m3``, the harmony
span with index 5 is ``h5``.

Source: MEI Guidelines 5.0 (https://music-encoding.org/guidelines/v5/); which attributes
the layout program honours was tried out.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from xml.etree.ElementTree import Element, SubElement

from apoyando.engraving.drawing.markup import write_xml
from apoyando.engraving.drawing.shapes import visible_text
from apoyando.engraving.notation.accidentals import choose_accidentals, signature_of
from apoyando.engraving.notation.chord_symbols import plain_text, print_chord
from apoyando.engraving.notation.score import (
    MELODY_VOICE,
    Event,
    NotatedBar,
    NotatedScore,
    NoteValue,
    Silence,
    Sounding,
)
from apoyando.engraving.notation.shared_stems import share_stems
from apoyando.model.arrangement import Arrangement, Note
from apoyando.model.harmony import HarmonySpan
from apoyando.model.pitch import Pitch
from apoyando.model.song import Bar, Barline, bar_at
from apoyando.model.time import Span

MEI = "http://www.music-encoding.org/ns/mei"
XML_ID = "xml:id"
WRITTEN_ACCIDENTALS = {-3: "tf", -2: "ff", -1: "f", 0: "n", 1: "s", 2: "x", 3: "ts"}
BARS = "bars"
"""Where they go, while the pieces are made."""
_JOINTS = {
    "begin": {"con": "d", "wordpos": "i"},
    "middle": {"con": "d", "wordpos": "m"},
    "end": {"wordpos": "t"},
}
"""MEI's words for where in a word a syllable stands."""
BOTTOM_LINE = Pitch.of("E", 0, 3)
"""What the lowest line of the staff sounds, under the octave clef."""
MIDDLE_LINE = 4
FLAGGED_STEM = 7.75
"""In staff steps: a flag that hangs down by less touches its own head, as this music font has it."""
OPEN_TIE = Fraction(1, 2)
"""In quarters: so long at most is the tie of a note that is let ring; it must not reach the next head."""
REST_CLEARANCE = 5
"""A rest's middle lies at least so many staff steps above the heads beneath it."""


_Head = tuple[Sounding, Note, str, int]
"""The event of a written head, its note, its id and its voice."""


@dataclass(frozen=True, slots=True)
class _Group:
    """Events from ``first`` to ``last`` under one element: a beam or a tuplet."""

    first: int
    last: int
    name: str
    attributes: dict[str, str]


@dataclass(frozen=True, slots=True)
class Mei:
    """A score as MEI, in pieces: what stands before the bars, each bar by its index, what stands after."""

    head: str
    bars: Mapping[int, str]
    tail: str

    def broken(self, system_starts: Iterable[int] = ()) -> str:
        """The whole, with a system break before each bar whose index is given."""
        starts = frozenset(system_starts)
        bars = (f"<sb />{bar}" if index in starts else bar for index, bar in self.bars.items())
        return f"{self.head}{''.join(bars)}{self.tail}"


def write_mei(score: NotatedScore) -> Mei:
    """The score as MEI. Raises nothing: any score can be written."""
    root = Element("mei", {"xmlns": MEI, "meiversion": "5.0"})
    _add_head(root)
    body = _add(_add(_add(root, "music"), "body"), "mdiv")
    page = _add(body, "score")
    _add_score_definition(page, score.bars[0].bar)
    _add(page, "section").text = BARS
    head, tail = write_xml(root).split(BARS)
    return Mei(head, dict(_written_bars(score)), tail)


def _written_bars(score: NotatedScore) -> Iterator[tuple[int, str]]:
    """Each bar with the changes of key and meter before it, by its index."""
    accidentals, harmony = choose_accidentals(score), _harmony_in_bars(score.arrangement)
    heads = [*map(_heads, score.bars), []]
    before = score.bars[0].bar
    for position, bar in enumerate(score.bars):
        piece = Element("section")
        _add_change(piece, before, bar.bar)
        measure = _add_measure(piece, score, position, accidentals)
        _add_harmony(measure, bar.bar, harmony.get(bar.bar.index, ()))
        _add_ties(measure, heads[position], heads[position + 1])
        _add_open_ties(measure, bar.bar, heads[position])
        _add_fermatas(measure, heads[position])
        _add_rolls(measure, heads[position])
        yield bar.bar.index, "".join(map(write_xml, piece))
        before = bar.bar


def _add(parent: Element, name: str, attributes: dict[str, str] | None = None) -> Element:
    return SubElement(parent, name, attributes or {})


def _add_head(root: Element) -> None:
    description = _add(_add(root, "meiHead"), "fileDesc")
    _add(_add(description, "titleStmt"), "title")
    _add(description, "pubStmt")


def _add_score_definition(page: Element, bar: Bar) -> None:
    definition = _add(page, "scoreDef", _key_attributes(bar) | _meter_attributes(bar))
    staff = _add(_add(definition, "staffGrp"), "staffDef", {"n": "1", "lines": "5"})
    _add(staff, "clef", {"shape": "G", "line": "2", "dis": "8", "dis.place": "below"})


def _add_change(section: Element, before: Bar, bar: Bar) -> None:
    changes: dict[str, str] = {}
    if before.key.fifths != bar.key.fifths:
        changes |= _key_attributes(bar)
    if before.meter != bar.meter:
        changes |= _meter_attributes(bar)
    if changes:
        _add(section, "scoreDef", changes)


def _key_attributes(bar: Bar) -> dict[str, str]:
    signs = signature_of(bar.key)
    return {"keysig": f"{abs(signs)}{'s' if signs > 0 else 'f'}" if signs else "0"}


def _meter_attributes(bar: Bar) -> dict[str, str]:
    count = "+".join(map(str, bar.meter.groups)) or str(bar.meter.beats)
    plain = {"meter.count": count, "meter.unit": str(bar.meter.beat_unit)}
    return plain | ({"meter.sym": bar.meter.symbol} if bar.meter.symbol else {})


def _add_measure(
    section: Element, score: NotatedScore, position: int, accidentals: Mapping[str, int]
) -> Element:
    notated = score.bars[position]
    bar = notated.bar
    measure = _add(section, "measure", {XML_ID: f"m{bar.index}", **_barlines(score, position)})
    if bar.span.duration != bar.meter.bar_length:
        measure.set("metcon", "false")
    staff = _add(measure, "staff", {"n": "1"})
    stemmed = share_stems(notated)
    for voice in sorted(stemmed.voices):
        _add_voice(staff, stemmed, voice, accidentals)
    return measure


def _barlines(score: NotatedScore, position: int) -> dict[str, str]:
    bar = score.bars[position].bar
    lines = {"left": "rptstart"} if bar.starts_repeat else {}
    if bar.repeat_times:
        return lines | {"right": "rptend"}
    is_last = position + 1 == len(score.bars)
    plain = "end" if is_last else "single"
    written = {Barline.DOUBLE: "dbl", Barline.FINAL: "end"}.get(bar.barline, plain)
    return lines | {"right": written}


def _add_voice(staff: Element, notated: NotatedBar, voice: int, accidentals: Mapping[str, int]) -> None:
    events = notated.voices[voice]
    layer = _add(staff, "layer", {"n": str(voice)})
    groups = _nested([*_tuplets(events, voice, notated.beams), *_beams(events, notated.beams)])
    inside = [(len(events), layer)]
    for position, event in enumerate(events):
        while inside[-1][0] < position:
            inside.pop()
        for group in groups:
            if group.first == position:
                inside.append((group.last, _add(inside[-1][1], group.name, group.attributes)))
        if isinstance(event, Silence):
            _add_silence(inside[-1][1], event, notated)
        else:
            is_beamed = any(element.tag == "beam" for _, element in inside)
            _add_sounding(inside[-1][1], event, voice, accidentals, is_beamed=is_beamed)


def _nested(groups: list[_Group]) -> list[_Group]:
    """The groups that lie wholly inside or outside each other, outer ones first.

    A beam across the edge of a tuplet has no place in the tree and is left out.
    """
    kept: list[_Group] = []
    for group in sorted(groups, key=lambda g: (g.name == "beam", g.first)):
        if not any(_cross(group, other) for other in kept):
            kept.append(group)
    return sorted(kept, key=lambda g: (g.first, -g.last, g.name == "beam"))


def _cross(one: _Group, other: _Group) -> bool:
    first, second = sorted((one, other), key=lambda g: (g.first, -g.last))
    return first.first < second.first <= first.last < second.last


def _beams(events: tuple[Event, ...], beams: tuple[tuple[str, ...], ...]) -> Iterator[_Group]:
    position = {event.id: index for index, event in enumerate(events)}
    for beam in beams:
        if beam[0] in position:
            yield _Group(position[beam[0]], position[beam[-1]], "beam", {})


def _tuplets(events: tuple[Event, ...], voice: int, beams: tuple[tuple[str, ...], ...]) -> Iterator[_Group]:
    first = 0
    for position, event in enumerate(events):
        if event.tuplet and event.tuplet.starts:
            first = position
        if event.tuplet and event.tuplet.stops:
            yield _tuplet(events, first, position, voice, beams)


def _tuplet(
    events: tuple[Event, ...], first: int, last: int, voice: int, beams: tuple[tuple[str, ...], ...]
) -> _Group:
    inside = events[first : last + 1]
    tuplet = inside[0].tuplet
    is_seen = any(not isinstance(event, Silence) or event.is_shown for event in inside)
    has_beam = tuple(event.id for event in inside) in beams
    place = "above" if voice == MELODY_VOICE else "below"
    attributes = {
        "num": str(tuplet.actual if tuplet else 1),
        "numbase": str(tuplet.normal if tuplet else 1),
        "num.place": place,
        "bracket.place": place,
        "num.visible": _yes(is_seen),
        "bracket.visible": _yes(is_seen and not has_beam),
    }
    return _Group(first, last, "tuplet", attributes)


def _yes(is_true: bool) -> str:
    return "true" if is_true else "false"


def _add_sounding(
    parent: Element, event: Sounding, voice: int, accidentals: Mapping[str, int], *, is_beamed: bool
) -> None:
    length = _value(event.value) | {"stem.dir": "up" if voice == MELODY_VOICE else "down"}
    if voice != MELODY_VOICE and not is_beamed and event.value.base < 1:
        length["stem.len"] = f"{_flagged_stem(event):g}"
    heads = zip(event.notes, event.note_ids, strict=True)
    if len(event.notes) > 1:
        parent = _add(parent, "chord", {XML_ID: event.id, **length})
        length = {}
    for note, note_id in heads:
        pitch = _pitch(note.pitch, accidentals.get(note_id))
        shape = {"head.shape": "diamond"} if note.is_harmonic else {}
        head = _add(parent, "note", {XML_ID: note_id, **pitch, **length, **shape})
        if not event.is_tied_from_before:
            _add_lyrics(parent if parent.tag == "chord" else head, note)


def _add_lyrics(parent: Element, note: Note) -> None:
    """Hyphens take their room too."""
    for lyric in note.lyrics:
        verse = _add(parent, "verse", {"n": str(lyric.verse)})
        _add(verse, "syl", _JOINTS.get(lyric.syllabic, {})).text = visible_text(lyric.text)


def _flagged_stem(event: Sounding) -> float:
    """Staff steps from the lowest head down to the end of a stem with a flag; to the middle line at least."""
    height = event.notes[0].pitch.staff_height - BOTTOM_LINE.staff_height
    return max(FLAGGED_STEM, height - MIDDLE_LINE)


def _add_silence(parent: Element, silence: Silence, notated: NotatedBar) -> None:
    if not silence.is_shown:
        _add(parent, "space", {XML_ID: silence.id, **_value(silence.value)})
        return
    height = {"loc": str(_rest_height(silence, notated))}
    if silence.is_whole_bar:
        _add(parent, "mRest", {XML_ID: silence.id, **height})
    else:
        _add(parent, "rest", {XML_ID: silence.id, **_value(silence.value), **height})


def _rest_height(silence: Silence, notated: NotatedBar) -> int:
    """Staff steps above the bottom line: the middle line, or over the heads struck meanwhile."""
    meanwhile = Span(silence.onset, silence.onset + silence.duration)
    heights = (
        note.pitch.staff_height - BOTTOM_LINE.staff_height
        for event, note, _, _ in _heads(notated)
        if meanwhile.contains(event.onset)
    )
    clear = max(heights, default=-REST_CLEARANCE) + REST_CLEARANCE
    return max(MIDDLE_LINE, clear + clear % 2)


def _value(value: NoteValue) -> dict[str, str]:
    """The part of a whole note that a plain sign is; none is left for a breve."""
    parts = 4 * value.base.denominator // value.base.numerator
    return {"dur": str(parts) if parts else "breve"} | ({"dots": str(value.dots)} if value.dots else {})


def _pitch(pitch: Pitch, printed: int | None) -> dict[str, str]:
    attributes = {"pname": pitch.name.step.lower(), "oct": str(pitch.octave)}
    return attributes | ({} if printed is None else {"accid": WRITTEN_ACCIDENTALS.get(printed, "n")})


def _harmony_in_bars(arrangement: Arrangement) -> Mapping[int, Sequence[tuple[int, HarmonySpan]]]:
    """The chords of each bar, with their indices."""
    found: dict[int, list[tuple[int, HarmonySpan]]] = {}
    for index, span in enumerate(arrangement.harmony):
        found.setdefault(bar_at(arrangement.bars, span.onset).index, []).append((index, span))
    return found


def _add_harmony(measure: Element, bar: Bar, harmony: Iterable[tuple[int, HarmonySpan]]) -> None:
    for index, span in harmony:
        beat = 1 + (span.onset - bar.onset) * bar.meter.beat_unit / 4
        place = {"staff": "1", "place": "above", "tstamp": f"{float(beat):.6g}"}
        symbol = _add(measure, "harm", {XML_ID: f"h{index}", **place})
        symbol.text = plain_text(print_chord(span.chord)).translate({0x266D: "b", 0x266F: "#"})


def _add_ties(measure: Element, heads: Sequence[_Head], next_heads: Sequence[_Head]) -> None:
    """Ties that start in this bar. A note's heads follow each other, in one bar or the next."""
    for position, (event, note, note_id, voice) in enumerate(heads):
        if event.is_tied_to_next:
            following = (*heads[position + 1 :], *next_heads)
            end = next((head[2] for head in following if head[1] is note), None)
            direction = "above" if voice == MELODY_VOICE else "below"
            if end:
                _add(measure, "tie", {"startid": f"#{note_id}", "endid": f"#{end}", "curvedir": direction})


def _add_open_ties(measure: Element, bar: Bar, heads: Iterable[_Head]) -> None:
    """A short tie to nowhere after the last head of what nobody ends."""
    for event, note, note_id, voice in heads:
        if note.lets_ring and not event.is_tied_to_next:
            end = event.onset + min(OPEN_TIE, event.duration / 2)
            beat = 1 + (end - bar.onset) * bar.meter.beat_unit / 4
            direction = "above" if voice == MELODY_VOICE else "below"
            reach = {"startid": f"#{note_id}", "tstamp2": f"0m+{float(beat):.6g}"}
            _add(measure, "lv", reach | {"curvedir": direction})


def _add_fermatas(measure: Element, heads: Iterable[_Head]) -> None:
    for event, note, note_id, _ in heads:
        if note.has_fermata and not event.is_tied_to_next:
            _add(measure, "fermata", {"staff": "1", "startid": f"#{note_id}", "place": "above"})


def _add_rolls(measure: Element, heads: Iterable[_Head]) -> None:
    """One wavy line before all that is rolled at one moment, in whatever voice."""
    rolled: dict[Fraction, list[str]] = {}
    for event, note, note_id, _ in heads:
        if note.is_rolled and not event.is_tied_from_before:
            rolled.setdefault(event.onset, []).append(f"#{note_id}")
    for struck in rolled.values():
        _add(measure, "arpeg", {"staff": "1", "plist": " ".join(struck)})


def _heads(bar: NotatedBar) -> list[_Head]:
    """Every written head of a bar, voice by voice, in order of time."""
    return [
        (event, note, note_id, voice)
        for voice, events in sorted(bar.voices.items())
        for event in events
        if isinstance(event, Sounding)
        for note, note_id in zip(event.notes, event.note_ids, strict=True)
    ]
