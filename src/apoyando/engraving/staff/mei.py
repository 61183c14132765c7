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
from xml.sax.saxutils import escape

from apoyando.engraving.notation.accidentals import choose_accidentals, signature_of
from apoyando.engraving.notation.chord_symbols import plain_text, print_chord
from apoyando.engraving.notation.score import MELODY_VOICE, NotatedBar, NotatedScore
from apoyando.engraving.notation.shared_stems import share_stems
from apoyando.engraving.staff.mei_elements import XML_ID, element
from apoyando.engraving.staff.mei_layers import Head, list_heads, write_layer
from apoyando.model.arrangement import Arrangement
from apoyando.model.harmony import HarmonySpan
from apoyando.model.song import Bar, Barline, bar_at

MEI = "http://www.music-encoding.org/ns/mei"
OPEN_TIE = Fraction(1, 2)
"""In quarters: so long at most is the tie of a note that is let ring; it must not reach the next head."""


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
    heads = [*map(list_heads, score.bars), []]
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
        measure = element("measure", _measure_attributes(score, position), "".join(inside))
        yield bar.index, _change(before, bar) + measure
        before = bar


def _score_definition(bar: Bar) -> str:
    clef = element("clef", {"shape": "G", "line": "2", "dis": "8", "dis.place": "below"})
    staff = element("staffDef", {"n": "1", "lines": "5"}, clef)
    return element(
        "scoreDef", _key_attributes(bar) | _meter_attributes(bar), element("staffGrp", inside=staff)
    )


def _change(before: Bar, bar: Bar) -> str:
    changes: dict[str, str] = {}
    if before.key.fifths != bar.key.fifths:
        changes |= _key_attributes(bar)
    if before.meter != bar.meter:
        changes |= _meter_attributes(bar)
    return element("scoreDef", changes) if changes else ""


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
    layers = (write_layer(stemmed, voice, accidentals) for voice in sorted(stemmed.voices))
    return element("staff", {"n": "1"}, "".join(layers))


def _barlines(score: NotatedScore, position: int) -> dict[str, str]:
    bar = score.bars[position].bar
    lines = {"left": "rptstart"} if bar.starts_repeat else {}
    if bar.repeat_times:
        return lines | {"right": "rptend"}
    is_last = position + 1 == len(score.bars)
    plain = "end" if is_last else "single"
    written = {Barline.DOUBLE: "dbl", Barline.FINAL: "end"}.get(bar.barline, plain)
    return lines | {"right": written}


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
        yield element("harm", {XML_ID: f"h{index}", **place}, escape(symbol))


def _ties(heads: Sequence[Head], next_heads: Sequence[Head]) -> Iterator[str]:
    """Ties that start in this bar. A note's heads follow each other, in one bar or the next."""
    for position, (event, note, note_id, voice) in enumerate(heads):
        if event.is_tied_to_next:
            following = (*heads[position + 1 :], *next_heads)
            end = next((head[2] for head in following if head[1] is note), None)
            direction = "above" if voice == MELODY_VOICE else "below"
            if end:
                yield element("tie", {"startid": f"#{note_id}", "endid": f"#{end}", "curvedir": direction})


def _open_ties(bar: Bar, heads: Iterable[Head]) -> Iterator[str]:
    """A short tie to nowhere after the last head of what nobody ends."""
    for event, note, note_id, voice in heads:
        if note.lets_ring and not event.is_tied_to_next:
            end = event.onset + min(OPEN_TIE, event.duration / 2)
            beat = 1 + (end - bar.onset) * bar.meter.beat_unit / 4
            direction = "above" if voice == MELODY_VOICE else "below"
            reach = {"startid": f"#{note_id}", "tstamp2": f"0m+{float(beat):.6g}"}
            yield element("lv", reach | {"curvedir": direction})


def _fermatas(heads: Iterable[Head]) -> Iterator[str]:
    for event, note, note_id, _ in heads:
        if note.has_fermata and not event.is_tied_to_next:
            yield element("fermata", {"staff": "1", "startid": f"#{note_id}", "place": "above"})


def _rolls(heads: Iterable[Head]) -> Iterator[str]:
    """One wavy line before all that is rolled at one moment, in whatever voice."""
    rolled: dict[Fraction, list[str]] = {}
    for event, note, note_id, _ in heads:
        if note.is_rolled and not event.is_tied_from_before:
            rolled.setdefault(event.onset, []).append(f"#{note_id}")
    for struck in rolled.values():
        yield element("arpeg", {"staff": "1", "plist": " ".join(struck)})
