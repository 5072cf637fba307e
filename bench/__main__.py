"""Run every bench and print one line each; the exit code says whether all bounds were kept."""

from __future__ import annotations

import sys
from pathlib import Path
from tempfile import TemporaryDirectory

from bench import learning, loading, pages, questions, rolling


def main() -> int:
    """Run the benches in a folder that is thrown away."""
    with TemporaryDirectory() as folder:
        work = Path(folder)
        made = loading.rows(work)
        store = questions.three_years(work)
        made += questions.rows(store)
        made += pages.rows(store, questions.DAY)
        made += rolling.rows()
        made += learning.rows()
    for row in made:
        print(row.line())
    return int(not all(row.met for row in made))


if __name__ == "__main__":
    sys.exit(main())
