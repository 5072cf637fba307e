"""What a browser sent: text fields within limits, and files."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Annotated

from fastapi import Depends, Request
from starlette.datastructures import FormData, UploadFile

from greenwright.base.errors import BadInput

MOST_FIELDS = 300
MOST_FILES = 40
LONGEST = 2000
"""Characters in one field."""


@dataclass(frozen=True, slots=True)
class Upload:
    """One file as it was sent."""

    name: str
    body: bytes


@dataclass(frozen=True, slots=True)
class Form:
    """The fields of one form; a field may have several values."""

    held: Mapping[str, Sequence[str]]
    files: tuple[Upload, ...] = ()

    def get(self, name: str, default: str = "") -> str:
        """Return the first value of a field, trimmed."""
        found = self.held.get(name, ())
        return found[0].strip() if found else default

    def all(self, name: str) -> tuple[str, ...]:
        """Return every value of a field."""
        return tuple(self.held.get(name, ()))

    def texts(self) -> dict[str, str]:
        """Return the first value of every field."""
        return {name: self.get(name) for name in self.held}


async def form_of(request: Request) -> Form:
    """Return the form of a request.

    Raises:
        BadInput: a field is too long. HTTPException: too many fields or files.
    """
    async with request.form(max_files=MOST_FILES, max_fields=MOST_FIELDS) as sent:
        files = tuple([await _upload(one) for one in _files(sent)])
        return Form(_texts(sent), files)


FormOf = Annotated[Form, Depends(form_of)]


def _files(sent: FormData) -> list[UploadFile]:
    held = [value for _, value in sent.multi_items() if isinstance(value, UploadFile)]
    return [one for one in held if one.filename]


async def _upload(one: UploadFile) -> Upload:
    return Upload(one.filename or "", await one.read())


def _texts(sent: FormData) -> dict[str, list[str]]:
    held: dict[str, list[str]] = {}
    pairs = [(k, v) for k, v in sent.multi_items() if isinstance(v, str)]
    if len(pairs) > MOST_FIELDS:
        raise BadInput(f"The form has more than {MOST_FIELDS} fields")
    for name, value in pairs:
        if len(value) > LONGEST or len(name) > 100:
            raise BadInput(
                "A field is too long", where=name[:40], expected=f"at most {LONGEST} characters"
            )
        held.setdefault(name, []).append(value)
    return held
