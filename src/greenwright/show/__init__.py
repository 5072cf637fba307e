"""Words, figures and pages of an answer; see README.md."""

from greenwright.show.page import Day, Figure, Page, Section, Table
from greenwright.show.pages import PAGES, page
from greenwright.show.words import page_text, table_text, words

__all__ = [
    "PAGES",
    "Day",
    "Figure",
    "Page",
    "Section",
    "Table",
    "page",
    "page_text",
    "table_text",
    "words",
]
