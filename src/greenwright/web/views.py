"""Turning values into HTML: templates, navigation, and what every page shows around itself."""

from __future__ import annotations

from collections.abc import Mapping
from html import escape
from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined, select_autoescape
from markupsafe import Markup
from starlette.requests import Request
from starlette.responses import HTMLResponse

from greenwright.desk import QUESTIONS_READY
from greenwright.show import Figure, terms
from greenwright.show.dates import long_date, short_date, week_date
from greenwright.show.figures.frame import themed
from greenwright.web.asking import Asked

HERE = Path(__file__).parent
PATHS = {"today": "/", "week": "/week", "record": "/record"}
FIRST = ("today", "week")


def environment() -> Environment:
    """Return the templates' environment: everything is escaped, nothing undefined passes."""
    made = Environment(
        loader=FileSystemLoader(HERE / "templates"),
        autoescape=select_autoescape(default=True, default_for_string=True),
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.globals.update(drawing=drawing, terms=terms, path_of=path_of)
    made.filters.update(long_date=long_date, short_date=short_date, week_date=week_date)
    return made


def path_of(question: str) -> str:
    """Return the path of a question's page."""
    return PATHS.get(question, f"/{question}")


def navigation() -> tuple[tuple[tuple[str, str], ...], tuple[tuple[str, str], ...]]:
    """Return the first words of the navigation and those under More, as (path, name)."""
    first = [(path_of(q), terms.NAMES[q]) for q in FIRST if q in QUESTIONS_READY]
    rest = [(path_of(q), terms.NAMES[q]) for q in QUESTIONS_READY if q not in FIRST]
    more = [*rest, ("/reckoner", "Reckoner"), ("/evidence", "Evidence"), ("/about", "About")]
    return (*first, ("/record", "Record")), tuple(more)


def drawing(figure: Figure, *, narrow: bool) -> Markup:
    """Return a figure's SVG as one named image that follows light and dark."""
    svg = themed(figure.svg_narrow if narrow else figure.svg)
    key = f"{figure.key}-{'n' if narrow else 'w'}"
    names = (
        f'<title id="{key}-t">{escape(figure.title)}</title>'
        f'<desc id="{key}-d">{escape(f"{figure.finding} {figure.description}")}</desc>'
    )
    head, tail = svg.split(">", 1)
    return Markup(
        f'{head} role="img" aria-labelledby="{key}-t" aria-describedby="{key}-d">{names}{tail}'
    )


class Views:
    """Draws pages from templates."""

    def __init__(self) -> None:
        self._env = environment()

    def draw(
        self,
        request: Request,
        template: str,
        asked: Asked | None,
        *,
        status: int = 200,
        headers: Mapping[str, str] | None = None,
        **held: Any,
    ) -> HTMLResponse:
        """Return a whole page.

        Args:
            request: for the path that the navigation marks.
            template: file under templates/.
            asked: course and day; None where there is none (an error, no course yet).
            held: what the template speaks of; `title` always.
        """
        first, more = navigation()
        text = self._env.get_template(template).render(
            asked=asked, path=request.url.path, first=first, more=more, **held
        )
        return HTMLResponse(text, status_code=status, headers=dict(headers or {}))
