"""Every page at both widths, light and dark: no accessibility violation, no sideways scroll."""

from __future__ import annotations

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page

from tests.browser.conftest import Opener, settle

PAGES = {
    "today": "/",
    "week": "/week",
    "golfers": "/golfers",
    "golfers as if": "/golfers?speed_m=3.2&sideways_mm_per_m=9&player=tour",
    "golfers slip": "/golfers?speed_m=99",
    "effects": "/effects",
    "why": "/why",
    "forecast": "/forecast",
    "track": "/track",
    "weather": "/weather",
    "weather with settings": "/weather?days=5&threshold=dollar_spot%3D0.4&root_depth_m=5+in",
    "record": "/record",
    "work": "/record?file=work",
    "enter": "/record/enter",
    "enter-moisture": "/record/enter?kind=moisture",
    "enter-work": "/record/enter?of=work",
    "load": "/record/load",
    "reckoner": "/reckoner",
    "calculation": "/reckoner/two-way-speed?up=8ft&down=12ft",
    "evidence": "/evidence?find=roll",
    "about": "/about",
    "nothing": "/nothing-here",
    "no answer": "/?on=2025-01-01",
}
LOOKS = [("phone", "light"), ("phone", "dark"), ("laptop", "light"), ("laptop", "dark")]


@pytest.mark.parametrize(("width", "scheme"), LOOKS)
@pytest.mark.parametrize("name", PAGES)
def test_no_violation_and_no_sideways_scroll(
    opened: Opener, name: str, width: str, scheme: str
) -> None:
    page = opened(PAGES[name], width=width, scheme=scheme)
    settle(page)
    page.evaluate("document.querySelectorAll('main details').forEach(d => { d.open = true })")
    found = Axe().run(page)
    assert found.violations_count == 0, found.generate_report()
    wide = page.evaluate("document.documentElement.scrollWidth")
    assert wide <= page.viewport_size["width"]


def test_the_axe_can_fail(opened: Opener) -> None:
    page = opened("/about")
    page.evaluate("document.querySelector('main').append(document.createElement('img'))")
    assert Axe().run(page).violations_count == 1


@pytest.mark.parametrize(
    "path", ["/record/enter", "/record/enter?of=work", "/record", "/", "/golfers?smoothness=6"]
)
def test_what_a_thumb_presses_is_large_enough(opened: Opener, path: str) -> None:
    page = opened(path)
    settle(page)
    small = page.evaluate(
        """() => [...document.querySelectorAll(
            'main button:not(.sort), main select, main input:not([type=checkbox]), main label.tick,'
            + ' main a.button, header nav a, header nav summary, .chips a, .switch a')]
          .filter(e => e.offsetParent && e.type !== 'hidden' && e.offsetHeight < 48)
          .map(e => e.outerHTML.slice(0, 80))"""
    )
    assert small == []


def test_pictures_are_drawn_for_the_width(opened: Opener) -> None:
    for width, shown, hidden in (("phone", "narrow", "wide"), ("laptop", "wide", "narrow")):
        page = opened("/", width=width)
        settle(page)
        assert page.locator(f".picture .{shown} svg").first.is_visible()
        assert not page.locator(f".picture .{hidden} svg").first.is_visible()


@pytest.mark.parametrize("path", ["/week", "/golfers"])
def test_letters_in_pictures_stay_readable_on_a_phone(opened: Opener, path: str) -> None:
    page = opened(path)
    settle(page)
    heights = page.evaluate(
        """() => [...document.querySelectorAll('.picture .narrow svg')].map(svg => {
          const scale = svg.getBoundingClientRect().width / svg.viewBox.baseVal.width;
          return scale * Math.min(...[...svg.querySelectorAll('text')]
            .map(t => parseFloat(t.getAttribute('font-size'))));
        })"""
    )
    assert heights and min(heights) >= 11.5


def test_pictures_follow_the_dark(opened: Opener) -> None:
    seen = {}
    for scheme in ("light", "dark"):
        page = opened("/", scheme=scheme)
        settle(page)
        mark = page.locator(".picture .narrow text").first
        seen[scheme] = mark.evaluate("t => getComputedStyle(t).fill")
    assert seen["light"] != seen["dark"]


def sheets(page: Page, paper: str) -> int:
    printed = page.pdf(format=paper)
    return printed.count(b"/Type /Page\n") + printed.count(b"/Type /Page ")


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_a_full_week_prints_on_one_sheet(opened: Opener, paper: str) -> None:
    page = opened("/week", width="laptop")
    settle(page)
    assert sheets(page, paper) == 1
    # a heavy week: four lines on every day and six stops
    page.evaluate(
        """() => {
          for (const day of document.querySelectorAll('.day-of-plan')) {
            const jobs = day.querySelector('.jobs') ?? document.createElement('ul');
            day.append(jobs);
            jobs.className = 'jobs';
            const line = document.querySelector('.jobs li');
            while (jobs.children.length < 4) jobs.append(line.cloneNode(true));
          }
          const stops = document.querySelector('.stops ul');
          while (stops.children.length < 6) stops.append(stops.children[0].cloneNode(true));
        }"""
    )
    assert sheets(page, paper) == 1


def test_sheets_are_really_counted(opened: Opener) -> None:
    page = opened("/evidence?find=roll", width="laptop")
    assert sheets(page, "A4") > 1


OVERLAPS = """() => [...document.querySelectorAll('.picture svg')].flatMap(svg => {
  const texts = [...svg.querySelectorAll('text')]
    .filter(t => t.getAttribute('opacity') !== '0' && t.textContent.trim())
    .map(t => [t.textContent, t.getBoundingClientRect()]).filter(([, r]) => r.width);
  return texts.flatMap(([a, p], i) => texts.slice(i + 1)
    .filter(([, q]) => Math.min(p.right, q.right) - Math.max(p.left, q.left) > 1
      && Math.min(p.bottom, q.bottom) - Math.max(p.top, q.top) > 4)
    .map(([b]) => a + ' / ' + b));
})"""


@pytest.mark.parametrize("width", ["phone", "laptop"])
@pytest.mark.parametrize("path", ["/golfers", "/golfers?sideways_mm_per_m=40"])
def test_no_words_of_a_picture_lie_on_each_other(opened: Opener, path: str, width: str) -> None:
    page = opened(path, width=width)
    settle(page)
    assert page.evaluate(OVERLAPS) == []


def test_overlapping_words_are_really_seen(opened: Opener) -> None:
    page = opened("/golfers")
    settle(page)
    page.evaluate(
        """() => { const text = document.querySelector('.narrow svg text[opacity="1"], '
          + '.narrow svg text'); text.parentNode.append(text.cloneNode(true)); }"""
    )
    assert page.evaluate(OVERLAPS) != []


def test_golfers_prints_with_its_answers_and_without_its_form(opened: Opener) -> None:
    page = opened("/golfers?smoothness=6", width="laptop")
    settle(page)
    page.emulate_media(media="print")
    assert not page.locator(".what-if").is_visible()
    for shown in (".as-if", ".lead", ".picture .wide svg", ".note"):
        assert page.locator(shown).first.is_visible()
    assert not page.locator(".picture .narrow").first.is_visible()
