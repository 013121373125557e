"""A job in a real browser: typed, held, cured, saved, by keyboard alone, and as a screen reader has it."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest

pytestmark = pytest.mark.browser
pytest.importorskip("playwright.sync_api")

from playwright.sync_api import expect  # noqa: E402

expect.set_options(timeout=15_000)  # a busy machine is no fault
MILLRACE = "2026-06-09/10-millrace.yaml"
GRANARY = "2026-06-09/20-granary.yaml"


def open_job(page: Any, name: str = "Millrace Row, end") -> None:
    """The job of the demo's first day."""
    page.get_by_role("link", name="the day before").click()
    page.get_by_role("navigation", name="Tuesday, June 9").get_by_role("link", name=name).click()
    expect(page.get_by_role("heading", level=1)).to_contain_text(name)


def test_typing_makes_held_and_typing_back_makes_go(page: Any, workspace: Path) -> None:
    before = (workspace / MILLRACE).read_text()
    open_job(page)
    box = page.get_by_role("textbox", name="Height height").first
    box.fill("44 ft")
    expect(page.get_by_role("heading", name="Held")).to_be_visible()
    expect(page.get_by_role("status")).to_contain_text("Held. The jet stops 4 ft short", timeout=4000)
    box.press("Tab")
    expect(page.get_by_text("Not saved")).to_have_count(0)
    assert (workspace / MILLRACE).read_text() == before.replace("27 ft}", "44 ft}")
    page.keyboard.press("Control+z")
    expect(page.get_by_role("heading", name="Go, with care")).to_be_visible()
    assert (workspace / MILLRACE).read_text() == before


def test_a_fault_stands_at_its_field_and_the_last_figures_stay(page: Any) -> None:
    open_job(page)
    box = page.get_by_role("textbox", name="Uphill uphill")
    box.fill("steep")
    expect(page.get_by_role("heading", name="Not ready")).to_be_visible()
    expect(box).to_have_attribute("aria-invalid", "true")
    expect(box).to_have_accessible_description(
        re.compile("Steep cannot be read as a height. Write a height with its unit", re.IGNORECASE)
    )
    expect(page.get_by_text("before the fault:")).to_be_visible()
    expect(page.get_by_text("times wait for 10-millrace").first).to_be_visible()
    box.fill("4 ft")
    expect(page.get_by_role("heading", name="Go, with care")).to_be_visible()
    expect(box).not_to_have_attribute("aria-invalid", "true")


def test_a_remedy_is_a_button_that_edits_the_file_and_keeps_its_comments(page: Any, workspace: Path) -> None:
    path = workspace / GRANARY
    text = path.read_text()
    path.write_text(text.replace("tip: roof tip", "tip: long throw"))
    open_job(page, "Granary, south roof")
    expect(page.get_by_role("heading", name="Held")).to_be_visible()
    apply = page.get_by_role("button", name=re.compile(r"^Apply\s*: Fit .*roof tip")).first
    apply.press("Enter")
    expect(page.get_by_role("heading", name="Held")).to_have_count(0)
    assert path.read_text() == text


def test_by_keyboard_alone(page: Any, workspace: Path) -> None:
    """Every control is reached by Tab, none holds the focus, and what has it is seen."""
    open_job(page)
    page.locator("body").press("Home")
    reached: list[str] = []
    for _ in range(140):
        page.keyboard.press("Tab")
        found = page.evaluate(
            """() => { const one = document.activeElement; if (!one || one === document.body) return null;
            const box = one.getBoundingClientRect();
            const bar = document.querySelector('.bar').getBoundingClientRect();
            const file = document.querySelector('.file').getBoundingClientRect();
            const own = one.closest('.bar, .file, .rail, .answer, .skip');
            const middle = box.top + Math.min(box.height, 30) / 2;
            return { name: one.id || one.textContent.trim().slice(0, 30), tall: box.height, wide: box.width,
              hidden: !own && (middle < bar.bottom || (middle > file.top && box.left < file.right && box.left > file.left)),
              radio: one.type === 'radio', link: one.tagName === 'A' }; }"""
        )
        if found is None:
            break
        reached.append(found["name"])
        assert not found["hidden"], f"{found['name']} has the focus and is hidden"
    assert len(set(reached)) > 40
    assert any("building-height" in name for name in reached)


def test_without_a_script_the_form_still_works(chromium: Any, address: str, workspace: Path) -> None:
    context = chromium.new_context(java_script_enabled=False, viewport={"width": 1280, "height": 800})
    page = context.new_page()
    page.goto(address)
    open_job(page)
    page.get_by_role("textbox", name="Height height").first.fill("44 ft")
    page.get_by_role("button", name="Save and check").first.click()
    expect(page.get_by_role("heading", name="Held")).to_be_visible()
    assert "44 ft}" in (workspace / MILLRACE).read_text()
    context.close()


def test_another_editor_is_seen_and_never_written_over(page: Any, workspace: Path) -> None:
    open_job(page)
    path = workspace / MILLRACE
    theirs = path.read_text().replace("uphill: 4 ft", "uphill: 5 ft")
    path.write_text(theirs)
    expect(page.get_by_text("changed outside, line 10")).to_be_visible(timeout=6000)
    expect(page.get_by_role("textbox", name="Uphill uphill")).to_have_value("5 ft")


def test_the_text_can_be_typed_whole(page: Any, workspace: Path) -> None:
    open_job(page)
    page.get_by_text("Text", exact=True).click()
    area = page.get_by_label("The file's whole text")
    text = area.input_value()
    assert text == (workspace / MILLRACE).read_text()
    area.fill(text.replace("27 ft", "44 ft"))
    expect(page.get_by_role("heading", name="Held")).to_be_visible()
    page.keyboard.press("Control+s")
    expect(page.get_by_text("Not saved")).to_have_count(0)
    assert "44 ft}" in (workspace / MILLRACE).read_text()
