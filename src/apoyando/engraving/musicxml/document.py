"""MusicXML 4.0, partwise (W3C Community Group, 2021, https://www.w3.org/2021/06/musicxml40/).

One part, one staff. Pitches are sounding and the clef carries the octave, as the standard
asks of octave clefs; with a capo they are as fingered, and ``transpose`` says how much
higher it sounds. Every note, tied ones included, carries string, fret and left-hand finger
(0 for open); where it is struck, and where known, the plucking finger. No date is written: the same score
gives the same bytes.
"""

from collections.abc import Mapping, Sequence

from apoyando import __version__
from apoyando.engraving.musicxml.bar import measure
from apoyando.engraving.musicxml.brackets import list_brackets
from apoyando.engraving.musicxml.clock import choose_clock
from apoyando.engraving.musicxml.notes import Settled
from apoyando.engraving.musicxml.placed import decimal
from apoyando.engraving.musicxml.xmltree import Element, element, write_document
from apoyando.engraving.notation.accidentals import choose_accidentals
from apoyando.engraving.notation.credits import Credit, list_credits
from apoyando.engraving.notation.layout import CreditPlace, Layout
from apoyando.engraving.notation.marks import list_guides
from apoyando.engraving.notation.score import NotatedScore
from apoyando.model.arrangement import Arrangement
from apoyando.model.position import list_shifts

DOCTYPE = (
    '<!DOCTYPE score-partwise PUBLIC "-//Recordare//DTD MusicXML 4.0 Partwise//EN"'
    ' "http://www.musicxml.org/dtds/partwise.dtd">'
)
NYLON_GUITAR_PROGRAM = 25
"""General MIDI Level 1 sound set, counted from 1 as MusicXML's ``midi-program`` does."""
TENTHS_OF_A_STAFF = 40
MARGINS = ("left", "right", "top", "bottom")


def write_musicxml(score: NotatedScore, layout: Layout | None = None) -> bytes:
    """The score as a MusicXML 4.0 file.

    With its ``layout`` the file has the paper, and breaks systems and pages as the page does.
    """
    settled = Settled(
        clock=choose_clock(score),
        accidentals=choose_accidentals(score),
        guides=list_guides(score.arrangement, list_shifts(score.arrangement.notes)),
        brackets=list_brackets(score),
        layout=layout,
        kept={(kept.note.onset, kept.note.place, kept.note.offset): kept for kept in score.kept},
    )
    measures = [measure(score, index, settled) for index in range(len(score.bars))]
    root = element(
        "score-partwise",
        *_header(score.arrangement, layout),
        _part_list(),
        element("part", *measures, id="P1"),
        version="4.0",
    )
    return write_document(root, DOCTYPE)


def _header(arrangement: Arrangement, layout: Layout | None) -> Sequence[Element]:
    return (
        element("work", element("work-title", arrangement.title)),
        element("movement-title", arrangement.title),
        element(
            "identification",
            _creator("composer", arrangement.composer),
            _creator("lyricist", arrangement.lyricist),
            _creator("arranger", arrangement.arranger),
            element("rights", arrangement.rights) if arrangement.rights else None,
            _encoding(has_layout=layout is not None),
        ),
        *([_defaults(layout)] if layout else ()),
        *(_credit(credit, layout) for credit in list_credits(arrangement)),
    )


def _creator(kind: str, name: str) -> Element:
    return element("creator", name, type=kind) if name else None


def _encoding(*, has_layout: bool) -> Element:
    """What is not in the file of these is not there (MusicXML 4.0, ``supports``)."""
    supported = ("accidental", "beam", "bracket", "other-technical", "stem")
    return element(
        "encoding",
        element("software", f"apoyando {__version__}"),
        *(element("supports", element=name, type="yes") for name in supported),
        *(
            element("supports", element="print", attribute=name, type="yes", value="yes")
            for name in (("new-system", "new-page") if has_layout else ())
        ),
    )


def _defaults(layout: Layout) -> Element:
    """The size of the staff and the paper."""
    margins = (element(f"{side}-margin", decimal(layout.margin_tenths)) for side in MARGINS)
    return element(
        "defaults",
        element(
            "scaling",
            element("millimeters", decimal(layout.staff_mm)),
            element("tenths", TENTHS_OF_A_STAFF),
        ),
        element(
            "page-layout",
            element("page-height", decimal(layout.height_tenths)),
            element("page-width", decimal(layout.width_tenths)),
            element("page-margins", *margins, type="both"),
        ),
    )


def _credit(credit: Credit, layout: Layout | None) -> Element:
    """What the page prints of it, and where, if that is known."""
    place = layout.credits[credit.kind] if layout else None
    placed = _placed_on_page(place) if place else {}
    return element(
        "credit",
        element("credit-type", credit.kind),
        element("credit-words", credit.text, **placed),
        page=1,
    )


def _placed_on_page(place: CreditPlace) -> Mapping[str, str]:
    return {
        "default_x": decimal(place.x_tenths),
        "default_y": decimal(place.y_tenths),
        "font_size": decimal(place.size_points),
        "justify": place.side,
        "halign": place.side,
        "valign": "baseline",
    }


def _part_list() -> Element:
    return element(
        "part-list",
        element(
            "score-part",
            element("part-name", "Guitar"),
            element(
                "score-instrument",
                element("instrument-name", "Classical guitar"),
                element("instrument-sound", "pluck.guitar.nylon-string"),
                id="P1-I1",
            ),
            element(
                "midi-instrument",
                element("midi-channel", 1),
                element("midi-program", NYLON_GUITAR_PROGRAM),
                id="P1-I1",
            ),
            id="P1",
        ),
    )
