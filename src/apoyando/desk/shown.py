"""Pages and parts of pages, filled in from the templates."""

from collections.abc import Mapping
from fractions import Fraction
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from apoyando.desk.touch_words import name_pitch
from apoyando.desk.words import name_key, name_minutes, name_value
from apoyando.model.bar_names import list_bars
from apoyando.model.beat import name_count
from apoyando.model.hand import roman


def show(template: str, **values: object) -> str:
    """A template filled in; whatever is put into it is escaped."""
    return _TEMPLATES.get_template(template).render(values)


def show_leaves(pages: tuple[str, ...], title: str) -> str:
    """Drawn pages, to be put into a page as they are: they are the engraver's own SVG."""
    return show("_leaves.html", pages=[Markup(page) for page in pages], title=title)  # noqa: S704 - see above


def _name_beat(beat: str) -> str:
    """A beat of a report as people write it."""
    return name_count(Fraction(beat))


def _name_position(fret: str) -> str:
    return roman(int(fret))


def _make_templates() -> Environment:
    templates = Environment(
        loader=PackageLoader("apoyando.desk"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    filters: Mapping[str, Any] = {
        "value_name": name_value,
        "minutes_name": name_minutes,
        "bar_list": list_bars,
        "beat_name": _name_beat,
        "pitch_name": name_pitch,
        "position_name": _name_position,
        "key_name": name_key,
    }
    templates.filters.update(filters)
    return templates


_TEMPLATES = _make_templates()
