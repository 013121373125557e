"""Every place by axe-core at three sizes, and without a sideways scroll at 320 px (WCAG 2.2: 1.4.10, 2.5.8)."""

from __future__ import annotations

from importlib.resources import files
from typing import Any

import pytest

from tests.desk.browser.conftest import labeled

pytestmark = pytest.mark.browser
pytest.importorskip("playwright.sync_api")
pytest.importorskip("axe_playwright_python")

SIZES = [(1280, 800), (844, 390), (320, 256)]
PLACES = ["day", "job", "fault", "conflict", "done", "typed", "kept", "pages", "new", "new day"]


def _axe() -> str:
    return (files("axe_playwright_python") / "axe.min.js").read_text(encoding="utf-8")


@pytest.mark.parametrize("size", SIZES, ids=lambda size: f"{size[0]}x{size[1]}")
@pytest.mark.parametrize("place", PLACES)
def test_no_violation(chromium: Any, address: str, workspace: Any, place: str, size: tuple[int, int]) -> None:
    context = chromium.new_context(viewport={"width": size[0], "height": size[1]}, bypass_csp=True)
    page = context.new_page()
    page.goto(address)
    _go(page, place, workspace)
    page.evaluate(_axe())
    found = page.evaluate(
        "() => axe.run({ runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'] })"
    )
    told = [
        f"{one['id']}: {one['help']}: {[node['html'][:120] for node in one['nodes'][:3]]}"
        for one in found["violations"]
    ]
    context_wide = page.evaluate("document.documentElement.scrollWidth")
    context.close()
    assert not told, "\n".join(told)
    assert context_wide <= size[0]


def _go(page: Any, place: str, workspace: Any) -> None:
    if place == "day":
        return
    if place in ("done", "typed", "kept"):
        _done(page, place)
        return
    if place == "new":
        page.get_by_role("link", name="Add a job").click()
        page.get_by_role("button", name="Write this job").click()
        page.get_by_text("An answer is needed here.").first.wait_for()
        return
    if place == "new day":
        page.get_by_role("link", name="new day").click()
        page.get_by_role("button", name="Write this day").wait_for()
        return
    page.get_by_role("link", name="the day before").click()
    if place == "pages":
        page.get_by_role("link", name="Pages", exact=True).click()
        page.get_by_role("heading", name="Pages for Tuesday, June 9").wait_for()
        return
    page.locator("#rail").get_by_role("link", name="Millrace Row, end").click()
    if place == "fault":
        page.get_by_role("textbox", name="Uphill uphill").fill("steep")
        page.get_by_role("heading", name="Not ready").wait_for()
    if place == "conflict":
        page.get_by_role("textbox", name="Uphill uphill").fill("steep")
        page.get_by_role("heading", name="Not ready").wait_for()
        path = workspace / "2026-06-09/10-millrace.yaml"
        path.write_text(path.read_text().replace("27 ft}", "31 ft}"))
        page.keyboard.press("Control+s")
        page.get_by_role("button", name="Keep mine").wait_for()


def _done(page: Any, place: str) -> None:
    page.goto(page.url.partition("/day/")[0] + "/done")
    page.get_by_role("link", name="the day before").click()
    if place == "done":
        return
    page.locator("#rail").get_by_role("link", name="Millrace Row, end").click()
    page.get_by_label(labeled("Bucket")).fill("37")
    page.get_by_label(labeled("Left")).fill("12:3O")
    page.get_by_label(labeled("Gauge closed")).fill("710")
    page.get_by_role("checkbox", name="that is right").wait_for()
    if place == "kept":
        page.get_by_label(labeled("Left")).fill("12:30")
        page.get_by_label(labeled("Gauge closed")).fill("68")
        page.get_by_role("button", name="Keep this record").click()
        page.get_by_text("Recorded, revision 1").first.wait_for()
