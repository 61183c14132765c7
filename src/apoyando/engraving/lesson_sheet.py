"""The lesson sheet as a PDF: words set by typst, cuttings and diagrams as pictures among them.

The sheet's own words go to the setting program as data, so that no sign in them is taken for
a command. The text is as large as lets the sheet keep to two pages, within ``TEXT_SIZES``;
what does not fit with the smallest takes as many pages as it needs. No date is written: the
same sheet gives the same bytes.
"""

import json
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import groupby
from xml.etree.ElementTree import fromstring

from apoyando.engraving.drawing.chord_diagrams import draw_chord_diagram
from apoyando.engraving.drawing.pdf import count_pages, set_document
from apoyando.engraving.drawing.pictures import draw_picture
from apoyando.engraving.drawing.shapes import visible_text
from apoyando.engraving.notation.chord_symbols import plain_text, print_chord
from apoyando.engraving.notation.score import NotatedScore
from apoyando.engraving.notation.selection import notate_for
from apoyando.engraving.page.cuttings import cut_bars
from apoyando.engraving.page.frame import make_frame
from apoyando.engraving.page.svg import write_cutting
from apoyando.model.arrangement import Arrangement
from apoyando.model.beat import count_beat, name_count
from apoyando.model.hand_shape import hand_shape_at
from apoyando.model.lesson import Block, Cutting, ShapePicture, Style, Words
from apoyando.model.sheet import USUAL_STAFF_MM, Marking, Sheet
from apoyando.model.song import bar_at
from apoyando.model.time import Quarters

TEXT_SIZES = (10.5, 10.0, 9.5, 9.0)
"""In points; smaller is hard to read on a stand (estimate)."""
MOST_PAGES = 2
CUTTING_SCALE = 0.8
"""The staff of a cutting beside that of the page."""
DIAGRAM_GAP = 230.0
"""Between two strings, in hundredths of a millimetre."""
NAME_OF_A_SHEET = "lesson sheet"

_LISTS = frozenset({Style.ITEM, Style.STEP})
_NOTE_NAME = re.compile(r"\b([A-G])(#{1,2}|b{1,2})(?![A-Za-z0-9#])")
_LABEL = re.compile(r"[^:.]{1,40}:")
_SIGNS = str.maketrans({"#": "♯", "b": "♭"})
_SOURCE = """
#let sheet = json(bytes(sys.inputs.sheet))
#set document(title: sheet.title, author: sheet.author, date: none)
#set page(
  width: sheet.width * 1mm, height: sheet.height * 1mm, margin: sheet.margin * 1mm,
  footer: context {
    let number = counter(page).get().first()
    if number > 1 { align(center, text(size: 9pt)[#number]) }
  },
)
#set text(font: "STIX", size: float(sys.inputs.size) * 1pt, lang: "en")
#set par(leading: 0.55em, spacing: 0.75em)
#set list(indent: 0pt, body-indent: 0.6em, spacing: 0.6em, marker: [–])
#set enum(indent: 0pt, body-indent: 0.6em, spacing: 0.6em)
#show heading: set text(font: "STIX", weight: "bold")
#show heading.where(level: 1): it => block(width: 100%, below: 0.7em, align(center, text(size: 19pt, weight: "regular", it.body)))
#show heading.where(level: 2): it => block(above: 1.2em, below: 0.6em, sticky: true, text(size: 1.2em, it.body))
#show heading.where(level: 3): it => block(above: 1em, below: 0.5em, sticky: true, text(size: 1.05em, it.body))
#let labelled(it) = [#emph(it.label)#it.text]
#let picture(it) = {
  let drawn = image(bytes(it.svg), format: "svg", width: it.width * 1mm)
  if it.above == "" and it.below == "" { drawn } else {
    set align(center)
    stack(dir: ttb, spacing: 1.2mm, strong(it.above), drawn, text(size: 0.9em, it.below))
  }
}
#if sheet.rights != "" {
  place(bottom + center, float: true, clearance: 1.5em, text(size: 8.5pt, sheet.rights))
}
#for part in sheet.parts {
  if part.style == "title" {
    heading(level: 1, part.texts.first().text)
    if sheet.author.len() > 0 { align(right, sheet.author.first()) }
  }
  else if part.style == "heading" { heading(level: 2, part.texts.first().text) }
  else if part.style == "subheading" { heading(level: 3, part.texts.first().text) }
  else if part.style == "item" { list(..part.texts.map(labelled)) }
  else if part.style == "step" { enum(..part.texts.map(labelled)) }
  else if part.style == "pictures" {
    block(sticky: true, above: 0.8em, below: 0.9em,
      par(leading: 1em, part.pictures.map(it => box(baseline: 50%, picture(it))).join(h(6mm))))
  }
  else { par(part.texts.first().text) }
}
"""

Entry = dict[str, object]


def write_lesson_pdf(blocks: Sequence[Block], arrangement: Arrangement, sheet: Sheet) -> bytes:
    """The sheet of an arrangement on the paper wanted: vector, searchable, fonts embedded, with bookmarks."""
    data = json.dumps(_describe(blocks, arrangement, sheet), ensure_ascii=False)
    sizes = [{"sheet": data, "size": str(size)} for size in TEXT_SIZES]
    fitting = (inputs for inputs in sizes[:-1] if count_pages(_SOURCE, inputs) <= MOST_PAGES)
    return set_document(_SOURCE, next(fitting, sizes[-1]))


def _describe(blocks: Sequence[Block], arrangement: Arrangement, sheet: Sheet) -> Entry:
    title = " ".join(visible_text(arrangement.title).split())
    width, height = sheet.paper.size_mm
    return {
        "title": f"{title}: {NAME_OF_A_SHEET}" if title else NAME_OF_A_SHEET.capitalize(),
        "author": [author] if (author := visible_text(arrangement.composer)) else [],
        "rights": " ".join(visible_text(arrangement.rights).split()),
        "width": width,
        "height": height,
        "margin": sheet.margin_mm,
        "parts": list(_describe_parts(blocks, _make_source(arrangement, sheet))),
    }


@dataclass(frozen=True, slots=True)
class _Source:
    """What pictures are drawn from: the piece, and how it is written on cuttings."""

    arrangement: Arrangement
    score: NotatedScore
    sheet: Sheet


def _make_source(arrangement: Arrangement, sheet: Sheet) -> _Source:
    staff_mm = CUTTING_SCALE * (sheet.staff_mm or USUAL_STAFF_MM)
    cut = replace(sheet, staff_mm=staff_mm, marking=Marking.FULL, lyrics=False)
    return _Source(arrangement, notate_for(cut, arrangement), cut)


def _describe_parts(blocks: Sequence[Block], source: _Source) -> Iterator[Entry]:
    """Items of one list together, and pictures side by side."""
    for style, group in groupby(blocks, key=_style):
        if style is None:
            pictures = [_draw(block, source) for block in group if not isinstance(block, Words)]
            yield {"style": "pictures", "pictures": pictures}
        else:
            texts = [_describe_words(block) for block in group if isinstance(block, Words)]
            lists = [texts] if style in _LISTS else [[text] for text in texts]
            for each in lists:
                yield {"style": str(style), "texts": each}


def _style(block: Block) -> Style | None:
    return block.style if isinstance(block, Words) else None


def _describe_words(words: Words) -> Entry:
    """Printed text; an item's first words before a colon are its label, to be set apart."""
    text = _print_names(words.text)
    label = _LABEL.match(text) if words.style is Style.ITEM else None
    cut = label.end() if label else 0
    return {"label": text[:cut], "text": text[cut:]}


def _print_names(text: str) -> str:
    """Note names as they are printed: F♯ for F#."""
    return _NOTE_NAME.sub(lambda name: name[1] + name[2].translate(_SIGNS), visible_text(text))


def _draw(block: Cutting | ShapePicture, source: _Source) -> Entry:
    if isinstance(block, ShapePicture):
        return _draw_shape(block.moment, source.arrangement)
    frame = make_frame(source.sheet)
    lines = cut_bars(source.score, source.sheet, block.first, block.last, frame.line_width)
    svg = write_cutting(lines, frame)
    return {"svg": svg, "width": _width_mm(svg), "above": "", "below": ""}


def _width_mm(svg: str) -> float:
    """The width that a drawing of ours says it has."""
    return float(fromstring(svg).get("width", "").removesuffix("mm"))  # noqa: S314 - our own drawing


def _draw_shape(moment: Quarters, arrangement: Arrangement) -> Entry:
    """The diagram under the name of its chord, with its place beneath."""
    picture = draw_picture(draw_chord_diagram(hand_shape_at(arrangement, moment), DIAGRAM_GAP))
    bar = bar_at(arrangement.bars, moment)
    chord = next((each.chord for each in arrangement.harmony if each.span.contains(moment)), None)
    return {
        "svg": picture.svg,
        "width": picture.width_mm,
        "above": plain_text(print_chord(chord)) if chord else "",
        "below": f"bar {bar.number}, beat {name_count(count_beat(bar, moment))}",
    }
