"""The piece as MEI 5, for the layout program.

Only what takes room along the line is written: notes, rests, ties, tuplets, fermatas,
rolls, barlines, signatures, and the chord symbols and the words that are sung (as plain text of
about their width; the page prints them anew). Titles, marks and rows above the staff are the page's own business.

Ids: notes keep the ids of the notated score, the bar with index 3 is ``m3``, the harmony
span with index 5 is ``h5``.

Systems are written as the layout program keeps a score that it has broken (``pages``, ``page``, ``system``; ``mdivb``,
``secb`` and ``milestoneEnd`` for what begins and ends across them), and not as sections with breaks in them: to break
these it takes a quarter of its reading.

Source: MEI Guidelines 5.0 (https://music-encoding.org/guidelines/v5/), and within ``pages`` what the layout program
itself writes of a score; which attributes it honours was tried out.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from types import MappingProxyType
from xml.sax.saxutils import escape

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
NONE: Mapping[str, str] = MappingProxyType({})
WRITTEN_ACCIDENTALS = {-3: "tf", -2: "ff", -1: "f", 0: "n", 1: "s", 2: "x", 3: "ts"}
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


_BEGINNING = (
    f'<mei xmlns="{MEI}" meiversion="5.0">'
    "<meiHead><fileDesc><titleStmt><title /></titleStmt><pubStmt /></fileDesc></meiHead>"
    '<music><body><pages type="raw"><page><mdivb xml:id="mdiv" /><score xml:id="score">'
)
_FIRST_SYSTEM = '</score><system><secb xml:id="section" />'
_END = (
    '<milestoneEnd startid="#section" type="section" /></system><milestoneEnd startid="#score" type="score" />'
    '<milestoneEnd startid="#mdiv" type="mdiv" /></page></pages></body></music></mei>'
)

_Head = tuple[Sounding, Note, str, int]
"""The event of a written head, its note, its id and its voice."""


@dataclass(frozen=True, slots=True)
class _Group:
    """Events from ``first`` to ``last`` under one element: a beam or a tuplet."""

    first: int
    last: int
    name: str
    attributes: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class Mei:
    """A score as MEI, in pieces: what stands before the bars, each bar by its index, what stands after."""

    head: str
    bars: Mapping[int, str]
    tail: str

    def broken(self, system_starts: Iterable[int] = ()) -> str:
        """The whole, with a new system before each bar whose index is given."""
        starts = frozenset(system_starts)
        bars = (f"</system><system>{bar}" if index in starts else bar for index, bar in self.bars.items())
        return f"{self.head}{''.join(bars)}{self.tail}"


def write_mei(score: NotatedScore) -> Mei:
    """The score as MEI. Raises nothing: any score can be written."""
    head = f"{_BEGINNING}{_score_definition(score.bars[0].bar)}{_FIRST_SYSTEM}"
    return Mei(head, dict(_written_bars(score)), _END)


def _written_bars(score: NotatedScore) -> Iterator[tuple[int, str]]:
    """Each bar with the changes of key and meter before it, by its index."""
    accidentals, harmony = choose_accidentals(score), _harmony_in_bars(score.arrangement)
    heads = [*map(_heads, score.bars), []]
    before = score.bars[0].bar
    for position, notated in enumerate(score.bars):
        bar = notated.bar
        inside = (
            _staff(notated, accidentals),
            *_harmony(bar, harmony.get(bar.index, ())),
            *_ties(heads[position], heads[position + 1]),
            *_open_ties(bar, heads[position]),
            *_fermatas(heads[position]),
            *_rolls(heads[position]),
        )
        measure = _element("measure", _measure_attributes(score, position), "".join(inside))
        yield bar.index, _change(before, bar) + measure
        before = bar


def _element(name: str, attributes: Mapping[str, str] = NONE, inside: str = "") -> str:
    """An element as text; what is ``inside`` is markup. No attribute here has a character that means something."""
    return (
        f"{_opened(name, attributes)}{inside}</{name}>" if inside else f"{_opened(name, attributes)[:-1]} />"
    )


def _opened(name: str, attributes: Mapping[str, str]) -> str:
    written = "".join([f' {key}="{value}"' for key, value in attributes.items()])
    return f"<{name}{written}>"


def _score_definition(bar: Bar) -> str:
    clef = _element("clef", {"shape": "G", "line": "2", "dis": "8", "dis.place": "below"})
    staff = _element("staffDef", {"n": "1", "lines": "5"}, clef)
    return _element(
        "scoreDef", _key_attributes(bar) | _meter_attributes(bar), _element("staffGrp", inside=staff)
    )


def _change(before: Bar, bar: Bar) -> str:
    changes: dict[str, str] = {}
    if before.key.fifths != bar.key.fifths:
        changes |= _key_attributes(bar)
    if before.meter != bar.meter:
        changes |= _meter_attributes(bar)
    return _element("scoreDef", changes) if changes else ""


def _key_attributes(bar: Bar) -> dict[str, str]:
    signs = signature_of(bar.key)
    return {"keysig": f"{abs(signs)}{'s' if signs > 0 else 'f'}" if signs else "0"}


def _meter_attributes(bar: Bar) -> dict[str, str]:
    count = "+".join(map(str, bar.meter.groups)) or str(bar.meter.beats)
    plain = {"meter.count": count, "meter.unit": str(bar.meter.beat_unit)}
    return plain | ({"meter.sym": bar.meter.symbol} if bar.meter.symbol else {})


def _measure_attributes(score: NotatedScore, position: int) -> dict[str, str]:
    bar = score.bars[position].bar
    attributes = {XML_ID: f"m{bar.index}", **_barlines(score, position)}
    return attributes if bar.span.duration == bar.meter.bar_length else attributes | {"metcon": "false"}


def _staff(notated: NotatedBar, accidentals: Mapping[str, int]) -> str:
    stemmed = share_stems(notated)
    layers = (_layer(stemmed, voice, accidentals) for voice in sorted(stemmed.voices))
    return _element("staff", {"n": "1"}, "".join(layers))


def _barlines(score: NotatedScore, position: int) -> dict[str, str]:
    bar = score.bars[position].bar
    lines = {"left": "rptstart"} if bar.starts_repeat else {}
    if bar.repeat_times:
        return lines | {"right": "rptend"}
    is_last = position + 1 == len(score.bars)
    plain = "end" if is_last else "single"
    written = {Barline.DOUBLE: "dbl", Barline.FINAL: "end"}.get(bar.barline, plain)
    return lines | {"right": written}


def _layer(notated: NotatedBar, voice: int, accidentals: Mapping[str, int]) -> str:
    events = notated.voices[voice]
    groups = _nested([*_tuplets(events, voice, notated.beams), *_beams(events, notated.beams)])
    written: list[str] = []
    for position, event in enumerate(events):
        written += [_opened(group.name, group.attributes) for group in groups if group.first == position]
        if isinstance(event, Silence):
            written.append(_silence(event, notated))
        else:
            is_beamed = any(g.name == "beam" and g.first <= position <= g.last for g in groups)
            written.append(_sounding(event, voice, accidentals, is_beamed=is_beamed))
        written += [f"</{group.name}>" for group in reversed(groups) if group.last == position]
    return _element("layer", {"n": str(voice)}, "".join(written))


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


def _sounding(event: Sounding, voice: int, accidentals: Mapping[str, int], *, is_beamed: bool) -> str:
    length = _value(event.value) | {"stem.dir": "up" if voice == MELODY_VOICE else "down"}
    if voice != MELODY_VOICE and not is_beamed and event.value.base < 1:
        length["stem.len"] = f"{_flagged_stem(event):g}"
    if len(event.notes) == 1:
        head = _head_attributes(event.notes[0], event.note_ids[0], accidentals, length)
        return _element("note", head, _lyrics(event, event.notes[0]))
    heads = (
        _element("note", _head_attributes(note, note_id, accidentals, {})) + _lyrics(event, note)
        for note, note_id in zip(event.notes, event.note_ids, strict=True)
    )
    return _element("chord", {XML_ID: event.id, **length}, "".join(heads))


def _head_attributes(
    note: Note, note_id: str, accidentals: Mapping[str, int], length: Mapping[str, str]
) -> dict[str, str]:
    shape = {"head.shape": "diamond"} if note.is_harmonic else {}
    return {XML_ID: note_id, **_pitch(note.pitch, accidentals.get(note_id)), **length, **shape}


def _lyrics(event: Sounding, note: Note) -> str:
    """Hyphens take their room too."""
    if event.is_tied_from_before:
        return ""
    syllables = (
        (lyric.verse, _element("syl", _JOINTS.get(lyric.syllabic, NONE), escape(visible_text(lyric.text))))
        for lyric in note.lyrics
    )
    return "".join(_element("verse", {"n": str(verse)}, syllable) for verse, syllable in syllables)


def _flagged_stem(event: Sounding) -> float:
    """Staff steps from the lowest head down to the end of a stem with a flag; to the middle line at least."""
    height = event.notes[0].pitch.staff_height - BOTTOM_LINE.staff_height
    return max(FLAGGED_STEM, height - MIDDLE_LINE)


def _silence(silence: Silence, notated: NotatedBar) -> str:
    if not silence.is_shown:
        return _element("space", {XML_ID: silence.id, **_value(silence.value)})
    height = {"loc": str(_rest_height(silence, notated))}
    if silence.is_whole_bar:
        return _element("mRest", {XML_ID: silence.id, **height})
    return _element("rest", {XML_ID: silence.id, **_value(silence.value), **height})


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


def _harmony(bar: Bar, harmony: Iterable[tuple[int, HarmonySpan]]) -> Iterator[str]:
    for index, span in harmony:
        beat = 1 + (span.onset - bar.onset) * bar.meter.beat_unit / 4
        place = {"staff": "1", "place": "above", "tstamp": f"{float(beat):.6g}"}
        symbol = plain_text(print_chord(span.chord)).translate({0x266D: "b", 0x266F: "#"})
        yield _element("harm", {XML_ID: f"h{index}", **place}, escape(symbol))


def _ties(heads: Sequence[_Head], next_heads: Sequence[_Head]) -> Iterator[str]:
    """Ties that start in this bar. A note's heads follow each other, in one bar or the next."""
    for position, (event, note, note_id, voice) in enumerate(heads):
        if event.is_tied_to_next:
            following = (*heads[position + 1 :], *next_heads)
            end = next((head[2] for head in following if head[1] is note), None)
            direction = "above" if voice == MELODY_VOICE else "below"
            if end:
                yield _element("tie", {"startid": f"#{note_id}", "endid": f"#{end}", "curvedir": direction})


def _open_ties(bar: Bar, heads: Iterable[_Head]) -> Iterator[str]:
    """A short tie to nowhere after the last head of what nobody ends."""
    for event, note, note_id, voice in heads:
        if note.lets_ring and not event.is_tied_to_next:
            end = event.onset + min(OPEN_TIE, event.duration / 2)
            beat = 1 + (end - bar.onset) * bar.meter.beat_unit / 4
            direction = "above" if voice == MELODY_VOICE else "below"
            reach = {"startid": f"#{note_id}", "tstamp2": f"0m+{float(beat):.6g}"}
            yield _element("lv", reach | {"curvedir": direction})


def _fermatas(heads: Iterable[_Head]) -> Iterator[str]:
    for event, note, note_id, _ in heads:
        if note.has_fermata and not event.is_tied_to_next:
            yield _element("fermata", {"staff": "1", "startid": f"#{note_id}", "place": "above"})


def _rolls(heads: Iterable[_Head]) -> Iterator[str]:
    """One wavy line before all that is rolled at one moment, in whatever voice."""
    rolled: dict[Fraction, list[str]] = {}
    for event, note, note_id, _ in heads:
        if note.is_rolled and not event.is_tied_from_before:
            rolled.setdefault(event.onset, []).append(f"#{note_id}")
    for struck in rolled.values():
        yield _element("arpeg", {"staff": "1", "plist": " ".join(struck)})


def _heads(bar: NotatedBar) -> list[_Head]:
    """Every written head of a bar, voice by voice, in order of time."""
    return [
        (event, note, note_id, voice)
        for voice, events in sorted(bar.voices.items())
        for event in events
        if isinstance(event, Sounding)
        for note, note_id in zip(event.notes, event.note_ids, strict=True)
    ]
