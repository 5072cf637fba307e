"""Effects, why, forecast and track in a real browser, over answers written by hand."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from urllib.parse import parse_qs, urlsplit

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, expect

from tests.browser.conftest import SERVE, Opener, opener, served, settle
from tests.browser.test_every_page import LOOKS, OVERLAPS, sheets
from tests.web.handed_learning import answered

BY_HAND = """
from greenwright import desk
from tests.web.handed_learning import Learned
desk.ask = Learned()
"""
PATHS = (
    "/effects",
    *(
        pytest.param(path, marks=answered(path.strip("/").split("?")[0]))
        for path in ("/why", "/why?green=7&against=3", "/forecast", "/forecast?days=5", "/track")
    ),
)


@pytest.fixture(scope="module")
def learned_site(record_path: Path) -> Iterator[str]:
    """Serve the small record with hand-made answers of learning in a child process."""
    yield from served(record_path, BY_HAND + SERVE)


@pytest.fixture
def learned(browser: Browser, learned_site: str) -> Iterator[Opener]:
    """Open pages of it."""
    yield from opener(browser, learned_site)


@pytest.mark.parametrize(("width", "scheme"), [LOOKS[0], LOOKS[3]])
@pytest.mark.parametrize("path", PATHS)
def test_no_violation_and_no_sideways_scroll(
    learned: Opener, path: str, width: str, scheme: str
) -> None:
    page = learned(path, width=width, scheme=scheme)
    settle(page)
    page.evaluate("document.querySelectorAll('main details').forEach(d => { d.open = true })")
    found = Axe().run(page)
    assert found.violations_count == 0, found.generate_report()
    assert page.evaluate("document.documentElement.scrollWidth") <= page.viewport_size["width"]


CUT = """() => [...document.querySelectorAll('.picture svg')].flatMap(svg => {
  const box = svg.getBoundingClientRect();
  if (!box.width) return [];
  return [...svg.querySelectorAll('text')].filter(t => {
    const r = t.getBoundingClientRect();
    return r.width && t.getAttribute('opacity') !== '0'
      && (r.left < box.left - 1 || r.right > box.right + 1 || r.bottom > box.bottom + 1);
  }).map(t => t.textContent);
})"""


@pytest.mark.parametrize("width", ["phone", "laptop"])
@pytest.mark.parametrize("path", PATHS)
def test_words_of_pictures_are_whole_apart_and_readable(
    learned: Opener, path: str, width: str
) -> None:
    page = learned(path, width=width)
    settle(page)
    page.evaluate("document.querySelectorAll('main details').forEach(d => { d.open = true })")
    assert page.evaluate(OVERLAPS) == []
    assert page.evaluate(CUT) == []
    heights = page.evaluate(
        """shown => [...document.querySelectorAll('.picture .' + shown + ' svg')].map(svg => {
          const scale = svg.getBoundingClientRect().width / svg.viewBox.baseVal.width;
          return scale * Math.min(...[...svg.querySelectorAll('text')]
            .map(t => parseFloat(t.getAttribute('font-size'))));
        })""",
        {"phone": "narrow", "laptop": "wide"}[width],
    )
    assert heights and min(heights) >= 11.5


def test_cut_words_are_really_seen(learned: Opener) -> None:
    page = learned("/effects")
    settle(page)
    page.evaluate(
        """() => { const t = document.querySelector('.narrow svg text');
          t.setAttribute('transform', 'translate(-200,10)'); }"""
    )
    assert page.evaluate(CUT) != []


@answered("why")
@pytest.mark.parametrize("script", [True, False], ids=["with script", "without script"])
def test_two_greens_are_compared_by_the_form(learned: Opener, script: bool) -> None:
    page = learned("/why", script=script)
    settle(page)
    page.get_by_text("Other days, or another green").click()
    page.get_by_label("Compared with").select_option("2")
    page.get_by_label("Green", exact=True).select_option("1")
    page.get_by_role("button", name="Show it").click()
    expect(page.locator(".lead")).to_contain_text("between green 1 and green 2")
    asked = parse_qs(urlsplit(page.url).query)
    assert asked["green"] == ["1"] and asked["against"] == ["2"]


@answered("why", "forecast")
def test_what_a_thumb_presses_is_large_enough(learned: Opener) -> None:
    for path in ("/why", "/forecast"):
        page = learned(path)
        settle(page)
        page.evaluate("document.querySelectorAll('main details').forEach(d => { d.open = true })")
        small = page.evaluate(
            """() => [...document.querySelectorAll('main button:not(.sort), main select, '
              + 'main input:not([type=hidden]), main a.button')]
              .filter(e => e.offsetParent && e.offsetHeight < 48).map(e => e.outerHTML)"""
        )
        assert small == []


@answered("forecast")
def test_the_form_is_not_printed_but_the_pictures_are(learned: Opener) -> None:
    page = learned("/forecast", width="laptop")
    settle(page)
    assert sheets(page, "A4") >= 1
    page.emulate_media(media="print")
    assert not page.locator(".what-if").is_visible()
    assert page.locator(".picture .wide svg").first.is_visible()
    assert not page.locator(".picture .narrow").first.is_visible()


@answered("forecast")
def test_hatching_follows_the_dark(learned: Opener) -> None:
    seen = {}
    for scheme in ("light", "dark"):
        page = learned("/forecast", scheme=scheme)
        settle(page)
        mark = page.locator(".narrow pattern path").first
        seen[scheme] = mark.evaluate("t => getComputedStyle(t).stroke")
    assert seen["light"] != seen["dark"]
