"""An answer in a notebook: it shows itself, and gives its rows as a data frame."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from html import escape
from typing import Any

import pandas as pd

from greenwright.base.answer import Answer
from greenwright.base.estimate import Estimate
from greenwright.base.values import Course
from greenwright.show import Day, Figure, Table, page, words


@dataclass(frozen=True, slots=True)
class Result:
    """One answer, with the course whose units it speaks."""

    answer: Answer
    course: Course

    def __str__(self) -> str:
        return words(self.answer, course=self.course)

    def __repr__(self) -> str:
        return str(self)

    @property
    def table(self) -> pd.DataFrame:
        """Return the findings, or for a plan its choices, one row each, in SI units.

        An estimate becomes the columns name, name_sd, name_low and name_high.
        """
        rows = self.answer.choices or self.answer.findings
        return pd.DataFrame([_flat(row) for row in rows])

    def json(self) -> str:
        """Return the answer as the JSON that every other face gives."""
        return self.answer.as_json()

    def _repr_html_(self) -> str:
        shown = page(self.answer, self.course)
        parts = [f"<h3>{escape(shown.heading)}</h3>", *_paragraphs(shown.lead)]
        parts += [_figure(figure) for figure in shown.figures[:1]]
        parts += [part for day in shown.days for part in _day(day)]
        parts += _paragraphs(f"{group}." for group in shown.groups)
        parts += _items("Leave the work if", shown.stops) if shown.stops else []
        for section in shown.sections:
            parts += [f"<h4>{escape(section.title)}</h4>", *_paragraphs(section.sentences)]
            parts += [_table(table) for table in section.tables]
        parts += _folded("Mind", shown.cautions)
        parts += _folded("How we know", shown.how_we_know)
        parts += _folded("What we don't know yet", shown.dont_know)
        return "\n".join(parts)


def _flat(row: Mapping[str, Any]) -> dict[str, Any]:
    flat: dict[str, Any] = {}
    for name, held in row.items():
        if isinstance(held, Estimate):
            ends = {f"{name}_{end}": getattr(held, end) for end in ("sd", "low", "high")}
            flat |= {name: held.value, **ends, f"{name}_unit": held.unit}
        else:
            flat[name] = held
    return flat


def _paragraphs(sentences: Iterable[str]) -> list[str]:
    return [f"<p>{escape(sentence)}</p>" for sentence in sentences]


def _day(day: Day) -> list[str]:
    jobs = (
        " ".join([f"{job.what}, {job.greens} ({job.hours}).", job.reason, *job.expect])
        for job in day.jobs
    )
    return [*_items(f"{day.title}: {day.hours}", jobs), *_paragraphs(day.leave_out)]


def _items(title: str, sentences: Iterable[str]) -> list[str]:
    items = "".join(f"<li>{escape(sentence)}</li>" for sentence in sentences)
    return [f"<h4>{escape(title)}</h4>", f"<ul>{items}</ul>" if items else ""]


def _figure(figure: Figure) -> str:
    caption = f"<figcaption>{escape(figure.finding)}</figcaption>"
    return f'<figure aria-label="{escape(figure.description)}">{figure.svg}{caption}</figure>'


def _table(table: Table) -> str:
    head = "".join(f'<th scope="col">{escape(name)}</th>' for name in table.columns)
    body = "".join(
        "<tr>" + "".join(f"<td>{escape(cell)}</td>" for cell in row) + "</tr>" for row in table.rows
    )
    caption = f"<caption>{escape(table.title)}</caption>"
    return f"<table>{caption}<thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>"


def _folded(title: str, sentences: Iterable[str]) -> list[str]:
    items = "".join(f"<li>{escape(sentence)}</li>" for sentence in sentences)
    return (
        [f"<details><summary>{escape(title)}</summary><ul>{items}</ul></details>"] if items else []
    )
