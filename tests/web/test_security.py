"""Strangers are refused, bodies are limited, and every reply carries the safety headers."""

from __future__ import annotations

from collections.abc import AsyncIterator

import pytest
from starlette.datastructures import Headers

from greenwright.web.security import FORM_LIMIT, HEADERS, from_us, known_host, split_port
from tests.web.client import Client

PAGES = [
    "/",
    "/effects",
    "/record",
    "/record?file=work",
    "/record/enter",
    "/record/enter?of=work",
    "/record/load",
    "/reckoner",
    "/reckoner/two-way-speed",
    "/evidence",
    "/about",
    "/nothing-here",
    "/static/style.css",
    "/api/schema",
]


@pytest.mark.parametrize("path", PAGES)
def test_every_reply_carries_the_headers(small: Client, path: str) -> None:
    reply = small.get(path)
    for name, value in HEADERS.items():
        assert reply.headers[name] == value
    wanted = "no-cache" if path.startswith("/static") else "no-store"
    assert reply.headers["cache-control"] == wanted


def test_the_policy_allows_nothing_inline() -> None:
    policy = HEADERS["content-security-policy"]
    assert "unsafe" not in policy and "frame-ancestors 'none'" in policy


@pytest.mark.parametrize("path", [p for p in PAGES if "static" not in p and "api" not in p])
def test_no_page_holds_an_inline_script_or_style(small: Client, path: str) -> None:
    text = small.get(path).text
    assert " style=" not in text and "<style" not in text and " onclick=" not in text
    assert all("src=" in part.split(">")[0] for part in text.split("<script")[1:])


@pytest.mark.parametrize("host", ["evil.example", "localhost.evil.example", "192.168.1.4", ""])
def test_other_names_are_refused(small: Client, host: str) -> None:
    assert small.get("/", headers={"host": host}).status_code == 421


@pytest.mark.parametrize("host", ["localhost", "127.0.0.1", "[::1]", "LOCALHOST"])
def test_this_machine_is_answered(small: Client, host: str) -> None:
    assert small.get("/about", headers={"host": host}).status_code == 200


def test_the_port_must_be_ours() -> None:
    scope = {"server": ("127.0.0.1", 8747)}
    assert known_host("127.0.0.1:8747", scope) and known_host("[::1]:8747", scope)
    assert not known_host("127.0.0.1:9999", scope)
    assert split_port("[::1]") == ("[::1]", "")


FORM = {"file": "readings"}


@pytest.mark.parametrize(
    "headers",
    [
        {"origin": "http://evil.example"},
        {"origin": "null"},
        {"origin": "https://localhost"},
        {"sec-fetch-site": "cross-site"},
        {"sec-fetch-site": "same-site"},
    ],
)
def test_changes_asked_for_elsewhere_are_refused(small: Client, headers: dict) -> None:
    reply = small.post("/record/enter", data=FORM, headers=headers)
    assert reply.status_code == 403 and "nothing was done" in reply.text


def test_our_own_pages_may_change() -> None:
    scope = {"scheme": "http"}
    own = Headers({"origin": "http://localhost:8747", "sec-fetch-site": "same-origin"})
    assert from_us(own, "localhost:8747", scope)
    assert from_us(Headers({}), "localhost:8747", scope)


def test_a_large_form_is_refused_before_it_is_read(small: Client) -> None:
    reply = small.post("/record/enter", data={"note": "x" * (FORM_LIMIT + 1)})
    assert reply.status_code == 413 and "too large" in reply.text


def test_a_large_body_without_a_length_is_refused_while_it_is_read(small: Client) -> None:
    async def pieces() -> AsyncIterator[bytes]:
        for _ in range(4):
            yield b"note=" + b"x" * 65536

    kind = {"content-type": "application/x-www-form-urlencoded"}
    assert small.post("/record/enter", content=pieces(), headers=kind).status_code == 413


@pytest.mark.parametrize("length", ["-1", "abc"])
def test_a_strange_length_is_refused(small: Client, length: str) -> None:
    reply = small.get("/about", headers={"content-length": length})
    assert reply.status_code == 413


def test_a_long_field_is_refused_by_name(small: Client) -> None:
    reply = small.post("/record/enter", data={"note": "x" * 2001})
    assert reply.status_code == 400 and "too long (note)" in reply.text


def test_many_fields_are_refused(small: Client) -> None:
    reply = small.post("/record/enter", data={f"f{i}": "1" for i in range(400)})
    assert reply.status_code == 400
