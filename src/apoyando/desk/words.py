"""How values are called on the pages: in the trade's words, without signs that only files need."""

from decimal import ROUND_HALF_UP, Decimal

_NAMES = {
    ("texture", ""): "what suits the song",
    ("key", ""): "the one that lies best",
    ("sounding", ""): "free",
    ("tuning", ""): "the one that lies better",
    ("tuning", "drop-d"): "drop D",
    ("capo", "0"): "none",
    ("melody_octave", ""): "where it sings best",
    ("melody_octave", "0"): "as in the song",
    ("melody_octave", "1"): "an octave higher",
    ("melody_octave", "-1"): "an octave lower",
    ("melody_octave", "2"): "two octaves higher",
    ("melody_octave", "-2"): "two octaves lower",
    ("melody", "by-level"): "as the level asks",
    ("introduction", ""): "none",
    ("introduction", "last-phrase"): "the last phrase",
    ("introduction", "dominant"): "two bars on the dominant",
    ("ending", ""): "as written",
    ("ending", "rolled-chord"): "a rolled chord",
    ("ending", "fermata"): "a fermata",
    ("ending", "harmonics"): "natural harmonics",
    ("part", ""): "the one that is found",
    ("page.paper", "a4"): "A4",
    ("page.paper", "letter"): "Letter",
    ("page.staff", "0"): "as it fits best",
    ("page.marking", "clean"): "almost none",
    ("page.marking", "normal"): "what a reader needs",
    ("page.marking", "full"): "every finger",
}
LARGE_PRINT_MM = 9.0
"""As docs/plan.md has it."""
_SIGNED = (("key", "sounding"), {"#": "♯", "b": "♭"})


def name_value(value: object, entry: str) -> str:
    """What a value of a plan entry is called."""
    text = str(value)
    if (entry, text) in _NAMES:
        return _NAMES[entry, text]
    if entry == "page.staff":
        return f"{text} mm, large print" if float(text) >= LARGE_PRINT_MM else f"{text} mm"
    entries, signs = _SIGNED
    if entry in entries:
        return text[:1] + "".join(signs.get(sign, sign) for sign in text[1:])
    return text if entry == "part" else text.replace("-", " ")


def name_key(key: str) -> str:
    """A key with its mode as musicians write it: B♭ major."""
    tonic, _, mode = key.partition(" ")
    return f"{name_value(tonic, 'key')} {mode}"


def name_minutes(minutes: float) -> str:
    """Minutes as on a programme: 1:24."""
    seconds = int((Decimal(str(minutes)) * 60).quantize(Decimal(1), ROUND_HALF_UP))
    return f"{seconds // 60}:{seconds % 60:02}"
