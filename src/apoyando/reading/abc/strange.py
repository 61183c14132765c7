"""Signs in a tune that are not understood."""

from apoyando.reading.abc.tokens import Token
from apoyando.reading.abc.walk import (
    Walk,
)

_MOST_STRANGE = 100


def remark_strange(walk: Walk, text: str, token: Token) -> None:
    walk.strange += 1
    if walk.strange == _MOST_STRANGE:
        walk.report("Most of this is not ABC.", "Look at the file in a text editor.", token)
    elif walk.strange < _MOST_STRANGE:
        walk.remark(f"“{text[:20]}” is not understood and left out", token)
