"""Pages, a new job and a day's order in a real browser: seen at three sizes, by keyboard, with and without a script."""

from __future__ import annotations

import hashlib
import os
import re
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

pytestmark = pytest.mark.browser

SIZES = ((1280, 800), (844, 390), (320, 256))
JOBS, LATER = "2026-06-09", "2026-06-10"


def _root(page: Any) -> str:
    found = re.match(r"http://[^/]+", page.url)
    assert found is not None
    return found[0]


def _id(name: str) -> str:
    return hashlib.sha256(name.encode()).hexdigest()[:12]


def _open(page: Any, place: str) -> None:
    page.goto(f"{_root(page)}{place}")


def _fits(page: Any) -> None:
    for wide, tall in SIZES:
        page.set_viewport_size({"width": wide, "height": tall})
        assert page.locator("html").evaluate("one => one.scrollWidth") <= wide


def test_pages_are_pictures_with_their_text_beside_them(page: Any) -> None:
    from playwright.sync_api import expect

    _open(page, f"/pages/{_id(JOBS)}")
    first = page.get_by_role("img", name=re.compile("Page 1 of Millrace Row, end terrace: Job sheet, walk-around"))
    first.scroll_into_view_if_needed()
    expect(first).to_have_js_property("complete", True)
    assert first.evaluate("one => one.naturalWidth") == 1224
    expect(page.get_by_text("Held. Its packet is one page that says why.")).to_be_visible()
    _fits(page)
    page.set_viewport_size({"width": 1280, "height": 800})
    page.get_by_role("link", name="Read as text of Millrace Row, end terrace").click()
    expect(page.get_by_role("heading", name="Job sheet: at the desk and the tailgate")).to_be_visible()
    assert page.locator("section").first.evaluate("one => getComputedStyle(one).borderTopWidth") == "3px"


def test_the_pdfs_are_made_on_asking_and_not_before(page: Any, workspace: Path) -> None:
    from playwright.sync_api import expect

    _open(page, f"/pages/{_id(JOBS)}")
    page.get_by_label("Notices for the customers").check()
    page.get_by_role("button", name="Show").click()
    made = page.get_by_role("button", name="Make 7 PDFs")
    expect(made).to_be_visible()
    assert not (workspace.parent / "packets").exists()
    made.click()
    expect(page.get_by_role("status", name="What was printed")).to_contain_text("2026-06-09/10-millrace-notice.pdf")
    assert len(list((workspace.parent / "packets" / JOBS).glob("*.pdf"))) == 7


def test_a_new_job_asks_as_it_is_typed_and_loses_no_letter(page: Any, workspace: Path) -> None:
    from playwright.sync_api import expect

    _open(page, f"/new/{_id(LATER)}")
    _fits(page)
    page.set_viewport_size({"width": 1280, "height": 800})
    page.get_by_label("The address, as you would say it on the phone").fill("3 Millrace Row")
    title = page.get_by_label("What is the job called")
    title.focus()  # the address is left, and the form asked again, while the title is typed
    page.keyboard.type("Millrace Row, once more", delay=30)
    offered = page.get_by_label(re.compile("was at this address: Millrace Row, end terrace"))
    expect(offered).to_have_value("")
    expect(title).to_be_focused()
    expect(title).to_have_value("Millrace Row, once more")
    assert page.get_by_text("is needed here").count() == 0
    page.keyboard.press("Tab")
    expect(page.get_by_label("Its file; the number is its place in the day")).to_have_attribute(
        "placeholder", "40-millrace-row-once-more"
    )
    page.get_by_role("button", name="Write this job").click()
    expect(page.get_by_role("heading", name="Millrace Row, once more", level=1)).to_be_visible()
    text = (workspace / LATER / "40-millrace-row-once-more.yaml").read_text(encoding="utf-8")
    assert "like: 2026-06-09/10-millrace" in text


def test_a_day_is_begun_from_the_last_one(page: Any, workspace: Path) -> None:
    from playwright.sync_api import expect

    _open(page, f"/day/{_id(LATER)}")
    page.get_by_role("link", name="new day").click()
    page.get_by_label("Date").fill("2026-06-15")
    page.get_by_label("Who works: names with commas, or how many").fill("Ana, Joe")
    page.get_by_role("button", name="Write this day").click()
    expect(page.get_by_role("heading", name="Monday, June 15", level=1)).to_be_visible()
    assert "crew: [Ana, Joe]" in (workspace / "2026-06-15" / "day.yaml").read_text(encoding="utf-8")


def test_the_order_is_changed_by_keyboard(page: Any, workspace: Path) -> None:
    from playwright.sync_api import expect

    _open(page, f"/day/{_id(LATER)}")
    page.get_by_role("button", name="Millrace Row, middle terrace earlier").focus()
    page.keyboard.press("Enter")
    expect(page.get_by_role("link", name="1 Millrace Row, middle terrace").last).to_be_visible()
    assert (workspace / LATER / "10-millrace-mid.yaml").is_file()


def test_without_a_script_a_form_gets_its_page(chromium: Any, address: str, workspace: Path) -> None:
    context = chromium.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto(address)
    _open(page, f"/new/{_id(LATER)}")
    page.get_by_role("button", name="Write this job").click()
    assert "An answer is needed here." in page.content()
    context.close()


def test_without_pictures_the_browsers_viewer_shows_the_file(chromium: Any, workspace: Path, tmp_path: Path) -> None:
    (tmp_path / "pypdfium2.py").write_text('raise ImportError("left out")\n', encoding="utf-8")
    path = os.pathsep.join([str(tmp_path), *filter(None, [os.environ.get("PYTHONPATH")])])
    environment = {**os.environ, "PLANNER_ARCHIVE": str(tmp_path / "a.db"), "PYTHONUNBUFFERED": "1", "PYTHONPATH": path}
    call = [sys.executable, "-m", "planner", "desk", str(workspace), "--no-open"]
    server = subprocess.Popen(call, stdout=subprocess.PIPE, text=True, env=environment)
    context = chromium.new_context()
    try:
        assert server.stdout is not None
        page, said = context.new_page(), list[str]()
        page.on("console", lambda message: said.append(message.text))
        page.goto(next(line.strip() for line in server.stdout if "http://" in line))
        with page.expect_response(lambda found: found.url.endswith(".pdf")) as answer:
            _open(page, f"/pages/{_id(JOBS)}")
            page.locator("iframe").first.scroll_into_view_if_needed()
        assert answer.value.status == 200
        assert page.get_by_role("img").count() == 0
        assert not said
    finally:
        context.close()
        server.terminate()
        server.wait(10)
