"""The command line: every question, the record and the reckoner, in words or as JSON."""

from greenwright.cli.app import app, run

__all__ = ["app", "run"]
