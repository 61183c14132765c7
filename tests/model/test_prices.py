"""The objective is stated once, with every price named."""

from dataclasses import fields
from pathlib import Path

from apoyando.model.prices import Prices

OBJECTIVE = (Path(__file__).parents[2] / "docs" / "objective.md").read_text(encoding="utf-8")


def test_every_price_is_named_in_the_objective() -> None:
    assert [field.name for field in fields(Prices) if f"`{field.name}`" not in OBJECTIVE] == []
