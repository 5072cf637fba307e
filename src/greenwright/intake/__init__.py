"""Files and forms -> rows that are kept and rows refused by name; never writes."""

from greenwright.intake.forms import read_form
from greenwright.intake.reading import learnt, read_paths

__all__ = ["learnt", "read_form", "read_paths"]
