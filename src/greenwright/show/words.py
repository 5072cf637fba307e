"""A page as terminal text: the same content as on the web, without the pictures."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence

from greenwright.base.answer import Answer
from greenwright.base.values import Course
from greenwright.show.dates import long_date
from greenwright.show.page import Day, Job, Page, Section, Table

WIDTH = 78


def words(answer: Answer, *, course: Course, width: int = WIDTH) -> str:
    """Return an answer as plain text: lead sentences, short tables, how we know, what we don't.

    Args:
        answer: the answer to print.
        course: decides the units.
        width: characters in a line, at least 40.
    """
    from greenwright.show.pages import page

    return page_text(page(answer, course, pictures=False), width=max(width, 40))


def page_text(page: Page, *, width: int = WIDTH) -> str:
    """Return a page as plain text."""
    blocks = [f"{page.heading}\n{page.course}, {long_date(page.as_of)}. {page.context}."]
    blocks.append("\n".join(_wrap(line, width) for line in page.lead))
    blocks += _plan(page.days, width)
    blocks += ["\n".join(_wrap(f"{line}.", width) for line in page.groups)]
    blocks += [_listed("Leave the work if", page.stops, width)]
    blocks += [_section(s, width) for s in page.sections]
    blocks += [_listed("Mind", page.cautions, width)]
    blocks += [_listed("How we know", page.how_we_know, width)]
    blocks += [_listed("What we don't know yet", page.dont_know, width)]
    return "\n\n".join(block for block in blocks if block) + "\n"


def _wrap(text: str, width: int, indent: str = "", first: str | None = None) -> str:
    return textwrap.fill(
        text,
        width,
        initial_indent=indent if first is None else first,
        subsequent_indent=indent,
        break_long_words=False,
        break_on_hyphens=False,
    )


def _listed(title: str, lines: Sequence[str], width: int) -> str:
    if not lines:
        return ""
    return "\n".join([title, *(_wrap(line, width, "  ", "- ") for line in lines)])


def _section(section: Section, width: int) -> str:
    parts = [section.title, *(_wrap(line, width) for line in section.sentences)]
    several = len(section.tables) > 1
    for table in section.tables:
        parts += [f"\n{table.title}"] if several else []
        parts.append(table_text(table, width=width))
    if section.figure:
        parts.append(_wrap(section.figure.finding, width))
    return "\n".join(part for part in parts if part)


def _plan(days: Sequence[Day], width: int) -> list[str]:
    """Return one block a day; a reason that was given for the same job is not given again."""
    told: set[tuple[str, ...]] = set()
    blocks = []
    for day in days:
        lines = [f"{day.title}: {day.hours}"]
        for job in day.jobs:
            why = (job.what, job.greens, job.reason, *job.expect)
            lines += _job(job, width, again=why in told)
            told.add(why)
        lines += [_wrap(text, width, "    ", "  ") for text in day.leave_out]
        blocks.append("\n".join(lines))
    return blocks


def _job(job: Job, width: int, *, again: bool) -> list[str]:
    planned = ", already planned" if job.planned else ""
    head = f"{job.what}, {job.greens} ({job.hours}). {job.confidence}{planned}."
    reason = " ".join([job.reason, *job.expect])
    told = [] if again else [_wrap(reason, width, "      ", "      ")]
    return [_wrap(head, width, "    ", "  "), *told]


def table_text(table: Table, *, width: int = WIDTH) -> str:
    """Return a table in aligned columns; one that is too wide becomes a line per row."""
    cells = [table.columns, *table.rows]
    sizes = [max(len(row[i]) for row in cells) for i in range(len(table.columns))]
    if sum(sizes) + 2 * (len(sizes) - 1) > width:
        return "\n".join(_wrap(_spelled(table, row), width, "    ", "  ") for row in table.rows)
    return "\n".join(_aligned(row, sizes, table.numbers) for row in cells)


def _aligned(row: Sequence[str], sizes: Sequence[int], numbers: frozenset[int]) -> str:
    cells = (
        cell.rjust(size) if i in numbers else cell.ljust(size)
        for i, (cell, size) in enumerate(zip(row, sizes, strict=True))
    )
    return "  ".join(cells).rstrip()


def _spelled(table: Table, row: Sequence[str]) -> str:
    named = [f"{c.lower()} {v}" for c, v in zip(table.columns[1:], row[1:], strict=True) if v]
    return f"{row[0]}: {', '.join(named)}"
