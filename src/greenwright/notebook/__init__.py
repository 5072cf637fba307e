"""The same questions in a notebook: `gw.open("course.db").today()`."""

from greenwright.notebook.book import Book, open
from greenwright.notebook.putting import putts
from greenwright.notebook.result import Result

__all__ = ["Book", "Result", "open", "putts"]
