"""Nothing moves when a box is entered or left: the first click on a button below it lands."""

from __future__ import annotations

from typing import Any

import pytest
from playwright.sync_api import Page

from tests.desk.browser.test_rig_shelf import opened

pytestmark = pytest.mark.browser

MOVED = """() => {
  const boxes = [...document.querySelectorAll("main input:not([type=hidden]), main select, main textarea")]
    .filter((one) => one.offsetParent && one.type !== "radio");
  const places = () => [...document.querySelectorAll("main button, main input, main summary, main a")]
    .map((one) => { const at = one.getBoundingClientRect(); return [at.left, at.top + scrollY, at.width].join(); }).join(";");
  document.activeElement?.blur();
  const before = places(), moved = [];
  for (const box of boxes) {
    box.focus({ preventScroll: true });
    if (places() !== before) moved.push("in " + box.name);
    box.blur();
    if (places() !== before) moved.push("out " + box.name);
  }
  return [boxes.length, moved];
}"""


def test_no_box_moves_anything_when_it_is_entered_or_left(page: Page) -> None:
    for size in ((1280, 800), (844, 390)):
        page.set_viewport_size({"width": size[0], "height": size[1]})
        for place in ("done", "rig", "shelf", "newrig", "job"):
            _go(page, place)
            page.wait_for_timeout(600)  # what a second answer brings is there
            count, moved = page.evaluate(MOVED)
            assert count > 3
            assert not moved, (place, size)


def test_the_first_click_after_typing_lands(page: Page, workspace: Any) -> None:
    opened(page, "shelf")
    lot = page.get_by_role("group", name="H-0601 bleach")
    lot.get_by_label("Tested strength").fill("9 trade %")
    page.get_by_role("region", name="Not saved yet").wait_for()
    page.wait_for_timeout(1500)
    lot.get_by_label("Tested strength").focus()
    button = lot.get_by_role("button", name="Take out H-0601")
    at = button.bounding_box()
    assert at is not None
    page.mouse.click(at["x"] + at["width"] / 2, at["y"] + at["height"] - 4)
    lot.wait_for(state="detached")


def _go(page: Page, place: str) -> None:
    if place in ("rig", "shelf", "newrig"):
        opened(page, place)
        return
    opened(page, "done" if place == "done" else "")
    page.locator(".rail li a").first.click()
    page.locator("#form").wait_for()


def test_on_a_low_screen_one_line_of_verdict_stays_whole_while_the_form_is_scrolled(page: Page) -> None:
    page.set_viewport_size({"width": 844, "height": 390})
    _go(page, "job")
    box = page.locator("#form input:not([type=hidden])").nth(12)
    box.scroll_into_view_if_needed()
    page.mouse.wheel(0, 600)
    page.wait_for_timeout(300)
    at = page.locator("#answer > .verdict").bounding_box()
    assert at is not None
    assert 0 <= at["y"] < 60
    assert at["height"] < 60
    assert at["x"] + at["width"] <= 844
    assert page.locator("#answer > .verdict").evaluate("(one) => one.scrollWidth <= one.clientWidth + 1")
