"""A page that is behind says so, in a real browser: the desk closed, an entry refused, two pages on one file."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

pytestmark = pytest.mark.browser
pytest.importorskip("playwright.sync_api")

from playwright.sync_api import expect  # noqa: E402

from tests.desk.browser.test_job import MILLRACE, open_job  # noqa: E402


def beside(page: Any) -> Any:
    """A second page on the same job; chromium's console names its failed requests."""
    open_job(page)
    other = page.context.new_page()
    other.goto(page.url)
    return other


def test_a_desk_that_is_gone_is_said_and_nothing_reads_as_saved(page: Any) -> None:
    page = beside(page)
    page.route("**/file/**", lambda route: route.abort())
    box = page.get_by_role("textbox", name="Height height").first
    box.fill("44 ft")
    expect(page.get_by_role("alert")).to_contain_text("The desk does not answer.")
    expect(page.locator("#answer.stale")).to_be_visible()
    expect(page.locator("#state")).to_have_text("Not saved")
    page.unroute("**/file/**")
    box.fill("43 ft")
    expect(page.get_by_role("heading", name="Held")).to_be_visible()
    expect(page.locator("#answer.stale")).to_have_count(0)


def test_what_was_refused_is_never_said_to_be_saved(page: Any, workspace: Path) -> None:
    before = (workspace / MILLRACE).read_text()
    open_job(page)
    page.evaluate("document.querySelectorAll('#form details').forEach((one) => { one.open = true; })")
    box = page.locator('#form [name^="r:"]').first
    box.fill("[one, {two")
    expect(page.get_by_role("alert")).to_contain_text("Nothing was changed")
    page.wait_for_timeout(3000)  # the quiet after which other texts are saved
    expect(page.get_by_role("alert")).to_contain_text("Nothing was changed")
    expect(page.locator("#state")).not_to_contain_text("Saved")
    assert (workspace / MILLRACE).read_text() == before


def test_two_pages_on_one_file_show_the_same_and_an_old_button_does_nothing(page: Any, workspace: Path) -> None:
    old, other = beside(page), page
    hidden = "(hides) => Object.defineProperty(document, 'hidden', { get: () => hides, configurable: true })"
    old.evaluate(hidden, True)  # it does not look by itself
    other.get_by_role("textbox", name="Height height").first.fill("44 ft")
    expect(other.get_by_role("heading", name="Held")).to_be_visible()
    other.get_by_role("textbox", name="Height height").first.press("Tab")
    expect(other.locator("#state")).to_have_text("Saved")
    now = (workspace / MILLRACE).read_text()
    old.get_by_role("button", name="Take out").first.click()
    expect(old.get_by_role("alert")).to_contain_text("The page showed an older text of this file.")
    assert (workspace / MILLRACE).read_text() == now
    old.evaluate(hidden, False)
    expect(old.get_by_role("heading", name="Held")).to_be_visible()


def test_what_is_typed_at_one_wall_never_lands_on_another_that_took_its_place(page: Any, workspace: Path) -> None:
    old, other = beside(page), page
    for one in (old, other):
        one.evaluate("document.querySelectorAll('#form details').forEach((one) => { one.open = true; })")
    old.evaluate("() => Object.defineProperty(document, 'hidden', { get: () => true, configurable: true })")
    other.locator('button[value="drop surfaces[0]"]').first.click()
    expect(other.locator("#state")).to_have_text("Saved")
    expect(other.locator('[name="v:surfaces[0].gable"]').first).to_have_value("35 ft x 9 ft")
    now = (workspace / MILLRACE).read_text()
    old.locator('[name="v:surfaces[0].height"]').first.fill("20 ft")
    expect(old.get_by_role("alert")).to_contain_text("The page showed an older text of this file.")
    expect(old.locator('[name="v:surfaces[0].gable"]').first).to_have_value("35 ft x 9 ft")
    expect(old.locator('[name="v:surfaces[0].height"]').first).to_have_value("")
    assert (workspace / MILLRACE).read_text() == now


def test_what_is_typed_without_a_pause_at_one_wall_is_all_taken(page: Any, workspace: Path) -> None:
    open_job(page)
    page.evaluate("document.querySelectorAll('#form details').forEach((one) => { one.open = true; })")
    for text in ("17 ft", "16 ft", "15 ft"):
        page.locator('[name="v:surfaces[0].height"]').first.fill(text)
        page.wait_for_timeout(170)  # about when what was typed before is answered
    page.locator('[name="v:surfaces[1].count"]').first.fill("3")
    page.locator('[name="v:surfaces[1].count"]').first.press("Tab")
    page.wait_for_timeout(3000)  # the quiet after which it is saved
    expect(page.locator("#state")).to_have_text("Saved")
    expect(page.get_by_role("alert")).to_have_count(0)
    text = (workspace / MILLRACE).read_text()
    assert "height: 15 ft" in text
    assert "count: 3" in text


def test_a_reason_that_is_being_typed_stays(page: Any) -> None:
    open_job(page)
    page.get_by_text("Take it on").first.click()
    why = page.get_by_label("Why take on").first
    why.fill("the customer knows")
    page.get_by_role("textbox", name="Height height").first.fill("28 ft")
    expect(page.locator("#answer")).to_contain_text("28 ft")
    expect(page.get_by_label("Why take on").first).to_have_value("the customer knows")
