"""A page as terminal text: the same content as on the web, without the pictures."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Sequence

from greenwright.base.answer import Answer
from greenwright.base.values import Course
from greenwright.show.dates import long_date
from greenwright.show.page import Day, Job, Line, Page, Section, Table

WIDTH = 78


def words(answer: Answer, *, course: Course, width: int = WIDTH, full: bool = False) -> str:
    """Return an answer as plain text, for thirty seconds or for someone who wants every number.

    Args:
        answer: the answer to print.
        course: decides the units.
        width: characters in a line, at least 40.
        full: also every table, each job's reason, how we know and why each gap matters.
    """
    from greenwright.show.pages import page

    return page_text(page(answer, course, pictures=False), width=max(width, 40), full=full)


def page_text(page: Page, *, width: int = WIDTH, full: bool = False) -> str:
    """Return a page as plain text."""
    rest = page if full else page.short
    blocks = [f"{page.heading}\n{page.course}, {long_date(page.as_of)}. {page.context}."]
    blocks += [_wrap(text, width) for text in (page.as_if or page.worked_for,) if text]
    blocks.append("\n".join(_wrap(line, width) for line in page.lead))
    blocks.append("\n".join(_wrap(text, width) for text in _before(page) if text))
    blocks += _jobs(page.days, width) if full else ["\n".join(_lines(page.days, width))]
    blocks.append(_listed("Leave the work if", page.stops, width))
    blocks += [_section(s, width) for s in rest.sections]
    blocks.append(_listed("Mind", rest.cautions, width))
    blocks += [_listed("How we know", page.how_we_know, width)] if full else []
    blocks.append(_listed("What we don't know yet", rest.dont_know, width))
    return "\n\n".join(block for block in blocks if block) + "\n"


def _before(page: Page) -> tuple[str, ...]:
    """Return what must be known to read the lines of a plan."""
    groups = " ".join(f"{line}." for line in page.groups)
    expects = any(line.expect for day in page.days for line in day.lines)
    return (groups, "A change is against leaving that job out." if expects else "")


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
    parts = [_wrap(section.title, width), *(_wrap(line, width) for line in section.sentences)]
    several = len(section.tables) > 1
    for table in section.tables:
        parts += ["\n" + _wrap(table.title, width)] if several else []
        parts.append(table_text(table, width=width))
    if section.figure:
        parts.append(_wrap(section.figure.finding, width))
    parts += [_wrap(f"{question} {told}", width, "    ", "  ") for question, told in section.asked]
    parts += [_wrap(line, width, "  ") for line in section.notes]
    return "\n".join(part for part in parts if part)


def _lines(days: Sequence[Day], width: int) -> list[str]:
    """Return one block a day, a line for each job; where greens stand is told once."""
    told: set[str] = set()
    blocks = []
    for day in days:
        lines = [f"{day.title}: {day.hours}"]
        for line in day.lines:
            new = [text for text in line.reasons if _standing(text) not in told]
            told.update(_standing(text) for text in new)
            lines.append(_wrap(_line(line), width, "    ", "  "))
            lines += [_wrap(text, width, "      ") for text in new]
        lines += [_wrap(text, width, "    ", "  ") for text in day.leave_out]
        blocks.append("\n".join(lines))
    return blocks


def _standing(reason: str) -> str:
    """Return the part of a reason that stays the same from day to day."""
    return re.split(r"[;,] ", reason, maxsplit=1)[0]


def _line(line: Line) -> str:
    expect = f": {line.expect}" if line.expect else ""
    mark = f". {line.mark}" if line.mark else ""
    return f"{line.what}, {line.greens} ({line.hours}){expect}{mark}"


def _jobs(days: Sequence[Day], width: int) -> list[str]:
    """Return one block a day; a reason that was given for the same job is not given again."""
    told: set[Job] = set()
    blocks = []
    for day in days:
        lines = [f"{day.title}: {day.hours}"]
        for job in day.jobs:
            lines += _job(job, width, again=job in told)
            told.add(job)
        lines += [_wrap(text, width, "    ", "  ") for text in day.leave_out]
        blocks.append("\n".join(lines))
    return blocks


def _job(job: Job, width: int, *, again: bool) -> list[str]:
    head = f"{job.what}, {job.greens} ({job.hours}). {job.confidence}."
    changes = job.changes_mind[:1].lower() + job.changes_mind[1:]
    changes = f"What would change this: {changes}" if changes else ""
    reason = " ".join(text for text in (job.reason, *job.expect, changes) if text)
    told = [] if again else [_wrap(reason, width, "      ")]
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
    named = [f"{c.lower()}: {v}" for c, v in zip(table.columns[1:], row[1:], strict=True) if v]
    return f"{row[0]}. {'; '.join(named)}"
