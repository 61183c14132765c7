"""Title, names and rights in words, alike on the page and in the file."""

from dataclasses import dataclass

from apoyando.model.arrangement import ARRANGED, Arrangement


@dataclass(frozen=True, slots=True)
class Credit:
    """A text of the first page; ``kind`` is what ``credit-type`` of MusicXML 4.0 calls it."""

    kind: str
    text: str


def list_credits(arrangement: Arrangement) -> tuple[Credit, ...]:
    """What is known of a piece."""
    printed = (
        Credit("title", arrangement.title),
        Credit("lyricist", _lyricist(arrangement.lyricist)),
        Credit("composer", arrangement.composer),
        Credit("arranger", _arranged(arrangement)),
        Credit("rights", arrangement.rights),
    )
    return tuple(credit for credit in printed if credit.text.strip())


def _lyricist(lyricist: str) -> str:
    has_label = lyricist.lower().startswith(("words", "lyrics", "text"))
    return lyricist if has_label or not lyricist else f"Words: {lyricist}"


def _arranged(arrangement: Arrangement) -> str:
    """By whom, if a score says so; else that it was, if it was."""
    if arrangement.arranger:
        return f"arr. {arrangement.arranger}"
    return ARRANGED if arrangement.is_arranged else ""
