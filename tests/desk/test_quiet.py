"""The solver's greeting never reaches standard output."""

from __future__ import annotations

import subprocess
import sys

SETTLED = (
    "from greenwright.desk.quiet import settle_solver\n"
    "settle_solver(); settle_solver()\n"
    "import highspy; highspy.Highs()\n"
    "print('answer')\n"
)


def output(code: str) -> str:
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    return done.stdout


def test_after_settling_only_the_answer_is_printed() -> None:
    assert output(SETTLED) == "answer\n"


def test_a_process_without_standard_output_settles_too() -> None:
    assert output("import os, sys; os.close(1)\n" + SETTLED.replace("print('answer')", "")) == ""
