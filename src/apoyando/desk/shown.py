"""Pages and parts of pages, filled in from the templates."""

from collections.abc import Mapping
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from apoyando.desk.words import name_minutes, name_value
from apoyando.model.bar_names import list_bars


def show(template: str, **values: object) -> str:
    """A template filled in; whatever is put into it is escaped."""
    return _TEMPLATES.get_template(template).render(values)


def show_leaves(pages: tuple[str, ...], title: str) -> str:
    """Drawn pages, to be put into a page as they are: they are the engraver's own SVG."""
    return show("_leaves.html", pages=[Markup(page) for page in pages], title=title)  # noqa: S704 - see above


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
    }
    templates.filters.update(filters)
    return templates


_TEMPLATES = _make_templates()
