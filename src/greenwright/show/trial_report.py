"""A trial on one page: for a committee in words, for a scientist with every number."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Sequence
from dataclasses import dataclass, field
from html import escape

from greenwright.base.answer import Answer
from greenwright.base.errors import BadInput
from greenwright.base.values import Course
from greenwright.show.dates import long_date
from greenwright.show.figures import frame
from greenwright.show.page import Figure, Page, Table
from greenwright.show.pages.trials import trial_page

READERS = ("committee", "scientist")
WIDTH, HEIGHT, EDGE = 595, 842, 42
"""A4 [pt], and its margin."""
FEW_CAUTIONS = 3


@dataclass
class _Sheet:
    """What is written so far, and how far down the page it reaches [pt]."""

    y: float = EDGE
    parts: list[str] = field(default_factory=list)

    def text(self, words: str, size: float = 9.5, *, bold: bool = False, gap: float = 4) -> None:
        """Write a paragraph, as wide as the page."""
        room = int((WIDTH - 2 * EDGE) / (0.50 * size))
        for line in textwrap.wrap(words, room) or [""]:
            self.y += size * 1.32
            self.line(line, EDGE, size, bold=bold)
        self.y += gap

    def line(self, words: str, x: float, size: float, *, bold: bool = False) -> None:
        """Write one line where the page has got to."""
        weight = ' font-weight="bold"' if bold else ""
        self.parts.append(
            f'<text x="{x:.1f}" y="{self.y:.1f}" font-family="sans-serif" font-size="{size}"'
            f'{weight} fill="{frame.INK}">{escape(words)}</text>'
        )

    def picture(self, figure: Figure) -> None:
        """Draw a figure at the page's width."""
        found = re.search(r'viewBox="0 0 ([\d.]+) ([\d.]+)"', figure.svg)
        if found is None:
            return
        wide, tall = float(found[1]), float(found[2])
        scale = min(1.0, (WIDTH - 2 * EDGE) / wide)
        inner = figure.svg[figure.svg.index(">") + 1 : figure.svg.rindex("</svg>")]
        place = f"translate({EDGE},{self.y + 4:.1f}) scale({scale:.3f})"
        self.parts.append(f'<g transform="{place}">{inner}</g>')
        self.y += tall * scale + 8

    def table(self, held: Table, *, most: int = 14) -> None:
        """Write a table, its first rows only where it is long."""
        self.text(held.title, 9.5, bold=True, gap=1)
        rows = [held.columns, *held.rows[:most]]
        wide = [max(len(row[i]) for row in rows) for i in range(len(held.columns))]
        unit = (WIDTH - 2 * EDGE) / max(sum(wide) + 2 * len(wide), 60)
        for k, row in enumerate(rows):
            self.y += 10.5
            x = float(EDGE)
            for cell, width in zip(row, wide, strict=True):
                self.line(cell, x, 7.5, bold=k == 0)
                x += (width + 2) * unit
        left = len(held.rows) - most
        self.y += 4
        if left > 0:
            self.text(f"{left} more rows stand in the data file.", 7.5)


def report_svg(answer: Answer, course: Course, *, reader: str) -> str:
    """Return the report as one SVG page (A4).

    Args:
        answer: of the question trial.
        course: decides the units.
        reader: committee | scientist.

    Raises:
        BadInput: another reader.
    """
    if reader not in READERS:
        raise BadInput(f"no report for {reader!r}", where="reader", expected=" | ".join(READERS))
    made = trial_page(answer, course)
    sheet = _Sheet()
    sheet.text(made.heading, 19, bold=True)
    sheet.text(f"{made.course}, {long_date(made.as_of)}", 9.5)
    for line in made.lead:
        sheet.text(line, 12.5)
    for figure in made.figures[: 1 if reader == "committee" else 2]:
        sheet.text(figure.title, 10.5, bold=True, gap=0)
        sheet.text(figure.finding, 9)
        sheet.picture(figure)
    _rest(sheet, made, answer, reader)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {HEIGHT}" width="{WIDTH}" '
        f'height="{HEIGHT}"><rect width="{WIDTH}" height="{HEIGHT}" fill="#ffffff"/>'
        f"{''.join(sheet.parts)}</svg>"
    )


def _rest(sheet: _Sheet, made: Page, answer: Answer, reader: str) -> None:
    if reader == "committee":
        _listed(sheet, "How it was done", made.how_we_know[:4])
        _listed(sheet, "What we don't know yet", made.dont_know[:3])
        _listed(sheet, "Mind", made.cautions[:FEW_CAUTIONS])
        return
    for title in ("The analysis", "What this plan can tell"):
        for section in (s for s in made.sections if s.title == title):
            for table in section.tables:
                sheet.table(table)
            for line in section.sentences:
                sheet.text(line, 8)
    _listed(sheet, "Assumptions", [row["text"] for row in answer.more["checks"]], size=7.5)
    trial = answer.more["trial"]
    sheet.text(
        f"Layout {trial['layout']}, seed {trial['seed']}; {answer.made_by['program']}, "
        f"{answer.made_by['model']}.",
        7.5,
    )


def _listed(sheet: _Sheet, title: str, lines: Sequence[str], *, size: float = 9) -> None:
    if not lines:
        return
    sheet.text(title, 10.5, bold=True, gap=1)
    for line in lines:
        sheet.text(f"– {line}", size, gap=1)
    sheet.y += 4


def report_pdf(answer: Answer, course: Course, *, reader: str) -> bytes:
    """Return the report as a PDF of one page."""
    import vl_convert

    return vl_convert.svg_to_pdf(report_svg(answer, course, reader=reader))
