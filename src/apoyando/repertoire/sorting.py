"""The ways to sort the shelf, by the names that pages and queries use."""

from collections.abc import Mapping

SORTINGS: Mapping[str, str] = {
    "title": "title",
    "key": "key",
    "level": "level_rank",
    "length": "minutes",
    "state": "state_rank",
}
"""The column of the index for each."""
