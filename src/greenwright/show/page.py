"""The page of an answer, before it becomes HTML or terminal text."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True, slots=True)
class Table:
    """A table for comparing: column names, which of them hold numbers, rows of text.

    stacked = a row's cells stand under each other where there is little width.
    """

    title: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    numbers: frozenset[int] = frozenset()
    stacked: bool = False

    def as_csv(self) -> str:
        """Return the table as CSV with a header row."""
        out = io.StringIO()
        writer = csv.writer(out)
        writer.writerow(self.columns)
        writer.writerows([[guarded(cell) for cell in row] for row in self.rows])
        return out.getvalue()


def guarded(cell: str) -> str:
    """Return a cell that no spreadsheet takes for a formula.

    >>> guarded("=1+1"), guarded("-0.2 m")
    ("'=1+1", '-0.2 m')
    """
    risky = cell[:1] in ("=", "@", "\t", "\r") or (
        cell[:1] in ("+", "-") and not cell[1:2].isdigit()
    )
    return f"'{cell}" if risky else cell


@dataclass(frozen=True, slots=True)
class Figure:
    """One picture with everything that says the same in words.

    Args:
        key: short name, unique on a page.
        title: what is drawn.
        description: how it is drawn, for someone who cannot see it.
        finding: one sentence computed from the data.
        svg: drawing for a laptop or print, plain colours.
        svg_narrow: drawing for a phone, plain colours.
        table: the data drawn.
    """

    key: str
    title: str
    description: str
    finding: str
    svg: str
    svg_narrow: str
    table: Table


@dataclass(frozen=True, slots=True)
class Section:
    """Sentences and tables under one heading; folded = closed until asked for.

    `asked` are questions with their answers; `see` is the question that tells more. `notes` say in
    small type what the sentences lean on. A `sheet` is what is printed of the page, alone on one
    sheet of paper.
    """

    title: str
    sentences: tuple[str, ...] = ()
    tables: tuple[Table, ...] = ()
    folded: bool = False
    figure: Figure | None = None
    notes: tuple[str, ...] = ()
    asked: tuple[tuple[str, str], ...] = ()
    see: str = ""
    sheet: bool = False


@dataclass(frozen=True, slots=True)
class Job:
    """One line of a day's work."""

    greens: str
    what: str
    hours: str
    reason: str
    expect: tuple[str, ...]
    confidence: str
    changes_mind: str


@dataclass(frozen=True, slots=True)
class Line:
    """What the crew reads: the same work on several groups of greens is one line.

    Args:
        what, greens, hours: the work.
        mark: nothing where it is simply to be done.
        expect: what it should clearly change, in few words.
        reasons: where the greens stand and what is wanted, one sentence a group.
    """

    what: str
    greens: str
    hours: str
    mark: str
    expect: str = ""
    reasons: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Day:
    """One day of a plan: each job with its reason, and the lines that the crew reads."""

    day: date
    title: str
    hours: str
    jobs: tuple[Job, ...]
    lines: tuple[Line, ...] = ()
    leave_out: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Short:
    """What a page says to someone who will not read it all."""

    sections: tuple[Section, ...] = ()
    cautions: tuple[str, ...] = ()
    dont_know: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Page:
    """A question and its answer, in the order in which it is read.

    Args:
        question: key of the question.
        heading: the question in plain words.
        course: name of the course.
        as_of: the day the question was asked for.
        context: what the answer rests on, in one line.
        lead: the answer in one to three sentences.
        as_if: what was put in place of what is believed, where anything was.
        worked_for: the levels that the answer is worked out for, where it hangs on them.
        figures: pictures; the first one stands under the lead.
        days, groups, stops: a plan by day, which greens its groups are, and the conditions
            under which to leave it.
        sections: further figures, tables and sentences.
        cautions, how_we_know, dont_know: sentences.
        sources: table of the outside numbers used, if any.
        short: what stands for sections, cautions and gaps where there is little room.
    """

    question: str
    heading: str
    course: str
    as_of: date
    context: str
    lead: tuple[str, ...]
    figures: tuple[Figure, ...] = ()
    days: tuple[Day, ...] = ()
    groups: tuple[str, ...] = ()
    stops: tuple[str, ...] = ()
    sections: tuple[Section, ...] = ()
    cautions: tuple[str, ...] = ()
    how_we_know: tuple[str, ...] = ()
    dont_know: tuple[str, ...] = ()
    sources: Table | None = None
    short: Short = Short()
    as_if: str = ""
    worked_for: str = ""

    @property
    def tables(self) -> tuple[Table, ...]:
        """Return every table of the page, those of the figures and the sources included."""
        held = [f.table for f in self.figures]
        held += [s.figure.table for s in self.sections if s.figure]
        held += [t for s in self.sections for t in s.tables]
        return (*held, *([self.sources] if self.sources else []))


def sentence(parts: Sequence[str]) -> str:
    """Return parts joined by spaces, capitalised and closed with one full stop."""
    text = " ".join(part.strip() for part in parts if part.strip())
    closed = text if text.endswith((".", "?", ":")) else f"{text}."
    return closed[:1].upper() + closed[1:]
