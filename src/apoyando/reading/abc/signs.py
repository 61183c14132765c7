"""Chord symbols, annotations and decorations (ABC 2.1 sections 4.14 to 4.19)."""

from dataclasses import replace

from apoyando.model.song import Jump
from apoyando.reading.abc.text import read_text
from apoyando.reading.abc.tokens import Token
from apoyando.reading.abc.walk import (
    Mark,
    Walk,
)
from apoyando.reading.chord_symbols import describe_unread_chord, read_chord_symbol
from apoyando.reading.draft import (
    DraftChord,
)
from apoyando.reading.form import keep_jump_words, read_jump_words

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


def take_string(walk: Walk, token: Token) -> None:
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
        walk.marks.append(Mark(jump, keep_jump_words(text), walk.time))
    elif reading is None:
        walk.remark(describe_unread_chord(text).rstrip("."), token)
    else:
        walk.chords.append(DraftChord(walk.time, reading.chord))
        if reading.ignored:
            walk.remark(f"In the chord “{text}” “{reading.ignored}” is not understood and left out", token)


def _take_annotation(walk: Walk, text: str, token: Token) -> None:
    jump = read_jump_words(text)
    if jump:
        walk.marks.append(Mark(jump, keep_jump_words(text), walk.time))
    elif text:
        walk.remark(f"The text “{text}” is not carried over", token)


def take_decoration(walk: Walk, token: Token) -> None:
    name = token.text[1:-1] if len(token.text) > 1 else walk.setting.symbols.get(token.text, "nil")
    if name.startswith('"'):
        take_string(walk, replace(token, text=f"{name.rstrip(chr(34))}{chr(34)}"))
    elif name in _JUMPS:
        walk.marks.append(Mark(_JUMPS[name], _JUMP_TEXTS.get(name, ""), walk.time))
    elif name in _FERMATAS:
        walk.has_fermata = True
    elif (sign := _BEGINNINGS.get(name, name)) in _EXPRESSIONS:
        walk.expression.append((len(walk.bars), sign))
    elif name not in _OF_NO_MATTER:
        walk.remark(f"The decoration {token.text} is not known and left out", token)
