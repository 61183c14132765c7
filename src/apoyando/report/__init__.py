"""What is told about a song and its piece, for machines and for the screen.

Conventions: plain values that JSON can carry. Score time is exact: quarters from the start
as a string, "7/2"; ``beat`` counts the felt pulse of the meter from 1, "5/2" being half way
through the second beat. ``bar`` is the printed number. The same piece gives the same bytes.
"""

from apoyando.report.entries import Entry
from apoyando.report.keys import ComparedKey, describe_keys
from apoyando.report.piece import describe_piece, encode_report
from apoyando.report.song import describe_song
from apoyando.report.verdict import Verdict

__all__ = [
    "ComparedKey",
    "Entry",
    "Verdict",
    "describe_keys",
    "describe_piece",
    "describe_song",
    "encode_report",
]
