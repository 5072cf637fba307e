"""Doing things: with the keyboard only, without JavaScript, by thumb."""

from __future__ import annotations

from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from tests.browser.conftest import SMALL, Opener, settle


def fill_moisture(page: Page, value: str) -> None:
    page.get_by_label("Green", exact=True).select_option("2")
    page.get_by_label("Reading", exact=True).fill(value)
    page.get_by_label("Who reads").fill("ana")
    page.get_by_role("button", name="Save").click()


@pytest.mark.parametrize("script", [True, False], ids=["with script", "without script"])
def test_a_reading_is_saved_and_taken_back(opened: Opener, script: bool) -> None:
    page = opened("/record/enter?kind=moisture", script=script)
    fill_moisture(page, "23.5")
    expect(page.get_by_role("status")).to_contain_text("Saved: Soil moisture 23.5 %, green 2")
    assert page.get_by_label("Green", exact=True).input_value() == "3"
    assert page.get_by_label("Who reads").input_value() == "ana"
    page.get_by_role("button", name="Undo").click()
    expect(page.get_by_role("status")).to_contain_text("Taken back")


@pytest.mark.parametrize("script", [True, False], ids=["with script", "without script"])
def test_what_is_wrong_is_said_beside_what_was_typed(opened: Opener, script: bool) -> None:
    page = opened("/record/enter?kind=moisture", script=script)
    fill_moisture(page, "95")
    expect(page.get_by_role("alert")).to_contain_text("Not saved")
    field = page.get_by_label("Reading", exact=True)
    assert field.input_value() == "95" and field.get_attribute("aria-invalid") == "true"


def press_until(page: Page, name: str, *, most: int = 60) -> None:
    """Press Tab until the element of that name has the focus."""
    for _ in range(most):
        page.keyboard.press("Tab")
        if page.evaluate("document.activeElement.name || ''") == name:
            return
    raise AssertionError(f"{name} cannot be reached by keyboard")


def test_a_ball_roll_is_entered_with_the_keyboard_alone(opened: Opener) -> None:
    page = opened("/record/enter")
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.textContent") == "Skip to the page"
    page.keyboard.press("Enter")
    press_until(page, "green")
    page.keyboard.press("1")
    for key, text in (("a1_ft", "8"), ("a1_in", "2"), ("b1_ft", "9"), ("b1_in", "0")):
        press_until(page, key)
        page.keyboard.type(text)
    page.keyboard.press("Enter")
    expect(page.get_by_role("status")).to_contain_text("Saved: 2 rolls, green 1")


def test_the_number_pad_comes_up(opened: Opener) -> None:
    page = opened("/record/enter")
    assert page.locator("#a1_ft").get_attribute("inputmode") == "numeric"
    assert page.locator("#a1_in").get_attribute("inputmode") == "decimal"


@pytest.mark.parametrize("script", [True, False], ids=["with script", "without script"])
def test_work_on_a_group(opened: Opener, script: bool) -> None:
    page = opened("/record/enter?of=work&kind=brush", script=script)
    page.get_by_label("Group B").check()
    page.get_by_role("button", name="Save").click()
    expect(page.get_by_role("status")).to_contain_text("Saved: Brush, on B")
    page.get_by_role("button", name="Undo").click()
    expect(page.get_by_role("status")).to_contain_text("Taken back")


def test_files_are_looked_at_and_loaded_without_script(opened: Opener, tmp_path: Path) -> None:
    held = tmp_path / "rounds.csv"
    held.write_text("date,rounds\n2026-05-11,80\n2026-05-12,minus\n")
    page = opened("/record/load", script=False)
    page.get_by_label("Files").set_input_files([held, SMALL / "work.csv"])
    page.get_by_role("button", name="Look at them first").click()
    # by hand: 2 rows here, 11 in the example's work.csv, of which 2 are refused, and "minus"
    expect(page.locator(".lead")).to_contain_text("13 rows read: 10 would be kept, 3 refused")
    page.get_by_role("button", name="Load 10 rows").click()
    expect(page.get_by_role("status")).to_contain_text("Saved: 1 new")


def test_the_menu_works_without_script_and_closes_with_escape(opened: Opener) -> None:
    page = opened("/about", script=False)
    page.get_by_text("More", exact=True).click()
    page.get_by_role("link", name="Effects").click()
    expect(page.locator("h1")).to_have_text("What does each practice do here?")
    page = opened("/about")
    page.get_by_text("More", exact=True).click()
    page.keyboard.press("Escape")
    assert not page.locator("details.more").evaluate("d => d.open")


def test_the_week_comes_by_itself_without_script(opened: Opener) -> None:
    page = opened("/week?on=2026-06-04", script=False)
    page.locator(".days").wait_for(timeout=60_000)
    assert page.locator(".day-of-plan").count() == 7


def test_the_week_comes_by_itself_with_script(opened: Opener) -> None:
    page = opened("/week?on=2026-06-03")
    settle(page)
    assert page.locator(".day-of-plan").count() == 7
    page.locator(".reasons summary").first.click()
    assert page.locator(".reasons dd").first.is_visible()


def test_lists_are_filtered_in_place(opened: Opener) -> None:
    page = opened("/record", width="laptop")
    page.get_by_label("Of", exact=True).select_option("clippings")
    expect(page.locator("#rows")).to_contain_text("1 row,")
    page = opened("/record", width="laptop", script=False)
    page.get_by_label("Of", exact=True).select_option("clippings")
    page.get_by_role("button", name="Show").click()
    expect(page.locator("#rows")).to_contain_text("1 row,")


def test_tables_are_sorted_by_what_they_say(opened: Opener) -> None:
    page = opened("/effects", width="laptop")
    settle(page)
    fold = page.locator("section details").filter(has=page.locator("table")).nth(1)
    fold.locator("summary").click()
    fold.get_by_role("button", name="Elsewhere").click()
    cells = fold.locator("tbody tr > :nth-child(3)").all_inner_texts()
    lead = [float(c.split()[0].replace("−", "-")) for c in cells]
    assert lead == sorted(lead) and len(lead) > 3


def test_another_day_is_chosen(opened: Opener) -> None:
    page = opened("/")
    settle(page)
    page.get_by_text("Another day").click()
    page.get_by_label("As it was known on").fill("2026-06-02")
    page.get_by_role("button", name="Show that day").click()
    settle(page)
    expect(page.locator(".context").first).to_contain_text("Tuesday 2 June 2026 (not today)")


def test_a_row_is_corrected(opened: Opener) -> None:
    page = opened("/record?kind=moisture")
    page.locator("#rows tbody a").first.click()
    page.get_by_text("Correct this row").click()
    page.get_by_label("Value").fill("25")
    page.get_by_label("Your name").first.fill("ben")
    page.get_by_label("Why it changes").fill("misread")
    page.get_by_role("button", name="Save the correction").click()
    expect(page.get_by_role("status")).to_contain_text("Saved")
    expect(page.locator(".history")).to_contain_text("ben: misread")


@pytest.mark.parametrize("script", [True, False], ids=["with script", "without script"])
def test_a_level_is_put_in_place_of_todays_and_taken_back(opened: Opener, script: bool) -> None:
    page = opened("/golfers", script=script)
    settle(page)
    page.get_by_text("What if it were otherwise?").click()
    page.get_by_label("Green speed, feet").fill("11")
    page.get_by_label("Green speed, inches").fill("0")
    page.get_by_label("Player in the picture").select_option("Tour player")
    page.get_by_role("button", name="Work it out").click()
    expect(page.locator(".as-if")).to_contain_text("As if green speed were 11'0\"", timeout=60_000)
    settle(page)
    assert "speed_m=3.3528" in page.url and "player=tour" in page.url
    assert page.get_by_label("Green speed, feet").input_value() == "11"
    expect(page.locator("#main")).to_contain_text("Tour player: from")
    page.get_by_role("link", name="Back to today's figures").first.click()
    page.locator(".as-if").wait_for(state="detached", timeout=60_000)
    settle(page)
    assert "speed_m" not in page.url


def test_after_a_what_if_tables_are_still_sorted_by_a_click(opened: Opener) -> None:
    page = opened("/golfers", width="laptop")
    settle(page)
    page.get_by_text("What if it were otherwise?").click()
    page.get_by_label("Smoothness, 0 to 10").fill("5")
    page.get_by_role("button", name="Work it out").click()
    expect(page.locator(".as-if")).to_contain_text("smoothness were 5 of 10", timeout=60_000)
    settle(page)
    expect(page.get_by_role("button", name="By the trade's rule")).to_be_visible()


def test_a_slip_in_the_what_if_is_said_and_kept(opened: Opener) -> None:
    page = opened("/golfers", script=False)
    settle(page)
    page.get_by_text("What if it were otherwise?").click()
    page.get_by_label("Rounds that day").fill("many")
    page.get_by_role("button", name="Work it out").click()
    expect(page.get_by_role("alert")).to_contain_text("many")
    field = page.get_by_label("Rounds that day")
    assert field.input_value() == "many" and field.get_attribute("aria-invalid") == "true"


def test_the_number_pad_comes_up_for_a_what_if(opened: Opener) -> None:
    page = opened("/golfers")
    settle(page)
    page.get_by_text("What if it were otherwise?").click()
    for name in ("Smoothness, 0 to 10", "Rounds that day", "Green speed, feet"):
        assert page.get_by_label(name).get_attribute("inputmode") == "decimal"
