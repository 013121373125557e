"""Done in a real browser: typed by keyboard alone, seen LOW, an odd figure said to be right, kept; and with no script."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from tests.desk.browser.conftest import labeled

pytestmark = pytest.mark.browser
JOB = "2026-06-09/10-millrace"


@pytest.fixture
def printed(workspace: Path, tmp_path: Path) -> Path:
    """The demo's first day on paper, before the desk opens."""
    environment = {**os.environ, "PLANNER_ARCHIVE": str(tmp_path / "archive.db")}
    call = [sys.executable, "-m", "planner", "packet", str(workspace / "2026-06-09"), "-o", str(tmp_path / "out")]
    assert subprocess.run(call, env=environment, capture_output=True, check=False).returncode == 1
    return workspace


def opened(page: Any) -> None:
    page.goto(page.url.partition("/day/")[0] + "/done")
    page.get_by_role("link", name="the day before").click()
    page.get_by_role("navigation", name="Tuesday, June 9").get_by_role("link", name="Millrace Row").click()


def row(page: Any, label: str) -> Any:
    return page.locator(".fig", has=page.get_by_label(labeled(label)))


def test_what_was_done_is_typed_by_keyboard_seen_and_kept(printed: Path, page: Any) -> None:
    from playwright.sync_api import expect

    opened(page)
    page.get_by_label(labeled("Gauge closed")).focus()
    page.keyboard.type("68")
    page.keyboard.press("Tab")
    expect(page.get_by_label(labeled("Bucket"))).to_be_focused()
    page.keyboard.type("37")
    expect(row(page, "Bucket")).to_contain_text("LOW, -14 %")
    expect(row(page, "Gauge closed").locator("svg.band circle")).to_have_count(1)
    expect(page.get_by_label(labeled("Bucket"))).to_be_focused()
    expect(page.get_by_label("How it compares")).to_contain_text("a kink, a clogged strainer or tip")
    expect(page.get_by_role("status")).to_have_text("1 of 3 figures outside the band. 28 not typed in yet.")
    page.keyboard.press("Tab")
    page.keyboard.type("330")
    tick = page.get_by_role("checkbox", name="Yes, that is right about Jet gets to")
    expect(tick).to_be_visible()
    draft = printed / f"{JOB}.record.draft.yaml"
    assert "jet" not in draft.read_text(encoding="utf-8").partition("job:")[2]
    page.keyboard.press("Tab")
    expect(tick).to_be_focused()
    page.keyboard.press("Space")
    expect(row(page, "Jet gets to").get_by_role("checkbox")).to_be_checked()
    expect(page.get_by_label("How it compares")).not_to_contain_text("looked at again")
    assert 'jet: "330 ft"' in draft.read_text(encoding="utf-8")
    page.get_by_label("Signed, lead").fill("Ana")
    page.keyboard.press("Enter")  # it only checks: nothing is kept by a slip
    expect(page.get_by_label("Signed, lead")).to_be_focused()
    page.get_by_role("button", name="Keep this record").focus()
    page.keyboard.press("Enter")
    expect(page.get_by_text("Recorded, revision 1: 1 run, signed by Ana.")).to_be_visible()
    assert not draft.exists()
    expect(page.locator(".fig", has_text="Bucket").first).to_contain_text("done 5 gal in 37 s")


@pytest.mark.parametrize("size", [(1280, 800), (844, 390), (320, 256)])
def test_no_page_scrolls_sideways_and_every_control_has_a_name(
    printed: Path, page: Any, size: tuple[int, int]
) -> None:  # fmt: skip
    page.set_viewport_size({"width": size[0], "height": size[1]})
    opened(page)
    page.get_by_label(labeled("Bucket")).fill("37")
    page.get_by_label(labeled("Gauge closed")).fill("710")
    page.get_by_role("checkbox", name="Yes, that is right about Gauge closed").wait_for()
    wide = page.locator("html").evaluate("one => one.scrollWidth - one.clientWidth")
    assert wide == 0
    nameless = page.locator("main").evaluate(
        "one => [...one.querySelectorAll('input:not([type=hidden]), select, textarea')]"
        ".filter(box => !box.labels.length).map(box => box.name)"
    )
    assert nameless == []
    small = page.locator("main").evaluate(
        "one => [...one.querySelectorAll('input:not([type=hidden]), select, textarea, button:not(.first), summary')]"
        ".map(box => (box.closest('.tick label') ?? box).getBoundingClientRect())"
        ".filter(box => box.height && (box.height < 24 || box.width < 24)).length"
    )
    assert small == 0


def test_the_page_works_without_a_script(printed: Path, page: Any, chromium: Any) -> None:
    from playwright.sync_api import expect

    context = chromium.new_context(java_script_enabled=False, storage_state=page.context.storage_state())
    try:
        plain = context.new_page()
        plain.goto(page.url)
        opened(plain)
        plain.get_by_label(labeled("Bucket")).fill("37")
        plain.get_by_role("button", name="Check what is typed in").click()
        expect(row(plain, "Bucket")).to_contain_text("LOW, -14 %")
        plain.get_by_role("button", name="Keep this record").click()
        expect(plain.get_by_text("Recorded, revision 1: 1 run, not signed.")).to_be_visible()
    finally:
        context.close()
