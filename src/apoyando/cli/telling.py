"""Lines to the player."""

import re

import typer

_MOVERS = re.compile(r"[\x00-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069]")
"""What moves a terminal, or turns the direction of letters over (Unicode Standard Annex 9, 2.1 and 2.2)."""


def tell(line: str, *, is_trouble: bool = False) -> None:
    """A line on stdout, or as trouble on stderr."""
    typer.echo(tame(line), err=is_trouble)


def tame(line: str) -> str:
    """The line with escapes for what a file's name may hold but a terminal would obey."""
    return _MOVERS.sub(lambda mover: mover[0].encode("unicode_escape").decode("ascii"), line)


def tame_json(text: str) -> str:
    """A JSON document with JSON's own escapes for them; its line ends are its own."""
    return _MOVERS.sub(lambda mover: "\n" if mover[0] == "\n" else f"\\u{ord(mover[0]):04x}", text)
