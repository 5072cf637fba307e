"""Keeps answers when they are given, so that they can be judged later."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import insert, select

from greenwright.base.answer import Answer
from greenwright.record.courses import choose_course
from greenwright.record.schema import tables
from greenwright.record.store import Store


@dataclass(frozen=True, slots=True)
class KeptAnswer:
    """One answer as it was given; answer is its published JSON shape."""

    id: int
    question: str
    as_of: str
    made_at: str
    version: str
    answer: Mapping[str, Any]


def keep_answer(store: Store, answer: Answer, *, course: str | None, now: datetime) -> int:
    """Keep an answer; return its number.

    The same answer to the same question on the same day is kept once; how long it took to
    work out does not make it another answer.

    Raises:
        StoreError: it could not be saved.
    """
    shape = answer.as_dict()
    t = tables().answer
    with store.writing() as conn:
        key = choose_course(conn, course)
        row = {
            "course_key": key,
            "question": answer.question,
            "as_of": answer.as_of.isoformat(),
            "digest": _print(shape),
        }
        same = [t.c[name] == value for name, value in row.items()]
        have = conn.execute(select(t.c.id).where(*same)).scalar()
        if have is not None:
            return have
        row |= {
            "made_at": now.isoformat(timespec="seconds"),
            "version": str(answer.made_by.get("program_version", "")),
            "content": json.dumps(shape, ensure_ascii=False, allow_nan=False),
        }
        return conn.execute(insert(t), row).inserted_primary_key[0]


def _print(shape: Mapping[str, Any]) -> str:
    made_by = {k: v for k, v in shape["made_by"].items() if k != "seconds"}
    text = json.dumps({**shape, "made_by": made_by}, sort_keys=True, ensure_ascii=False)
    return hashlib.sha256(text.encode("utf-8")).hexdigest()


def kept_answers(
    store: Store, *, course: str | None, question: str | None = None
) -> tuple[KeptAnswer, ...]:
    """Return the kept answers to a question (None = to all), oldest first."""
    t = tables().answer.c
    with store.reading() as conn:
        query = select(t.id, t.question, t.as_of, t.made_at, t.version, t.content)
        query = query.where(t.course_key == choose_course(conn, course))
        if question is not None:
            query = query.where(t.question == question)
        rows = conn.execute(query.order_by(t.id)).all()
    return tuple(KeptAnswer(*row[:5], answer=json.loads(row.content)) for row in rows)
