"""A whole job as a screen reader has it: only what the browser's accessibility tree says, and keys."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest

pytestmark = pytest.mark.browser
pytest.importorskip("playwright.sync_api")

from playwright.sync_api import expect  # noqa: E402

expect.set_options(timeout=15_000)
CONTROLS = {"button", "checkbox", "combobox", "link", "radio", "textbox", "spinbutton", "switch", "DisclosureTriangle"}
GROUPS = {"group", "region", "navigation", "form", "radiogroup", "complementary", "main", "list", "table", "row"}


def _controls(page: Any) -> Iterator[tuple[tuple[str, ...], str, str]]:
    """Each control of the page: the names of the groups it is in, its role and its own name."""
    session = page.context.new_cdp_session(page)
    nodes = {node["nodeId"]: node for node in session.send("Accessibility.getFullAXTree")["nodes"]}
    session.detach()
    for node in nodes.values():
        role = node.get("role", {}).get("value", "")
        if node.get("ignored") or role not in CONTROLS:
            continue
        above, over = [], node.get("parentId")
        while over in nodes:
            outer = nodes[over]
            if outer.get("role", {}).get("value") in GROUPS and (name := outer.get("name", {}).get("value")):
                above.append(name)
            over = outer.get("parentId")
        yield tuple(above), role, (node.get("name", {}).get("value") or "").strip()


def _told_apart(page: Any, where: str) -> None:
    """Every control has a name, and no two boxes or buttons have the same one in the same group."""
    found = list(_controls(page))
    assert found, where
    assert not [one for one in found if not one[2]], where
    twice = [one for one, times in Counter(found).items() if times > 1 and one[1] != "link"]
    assert not twice, f"{where}: {twice[:8]}"
    levels = [int(node.evaluate("one => one.tagName[1]")) for node in page.get_by_role("heading").all()]
    assert levels.count(1) == 1, where
    assert all(after - before <= 1 for before, after in pairwise(levels)), f"{where}: {levels}"


def _to(page: Any, role: str, name: str | re.Pattern[str]) -> Any:
    """Go on by Tab to the control that is called so."""
    wanted = page.get_by_role(role, name=name).first
    expect(wanted).to_be_visible()
    for _ in range(400):
        if wanted.evaluate("one => one === document.activeElement"):
            return wanted
        page.keyboard.press("Tab")
    raise AssertionError(f"no Tab leads to {role} {name}")


def test_a_whole_job_by_what_is_read_out(page: Any, workspace: Path) -> None:
    _told_apart(page, "the day")
    _to(page, "link", re.compile("Add a job")).press("Enter")
    expect(page.get_by_role("heading", level=1)).to_contain_text("New job")
    _told_apart(page, "a new job")
    _to(page, "textbox", re.compile("^The address")).fill("3 Millrace Row")
    _to(page, "textbox", re.compile("^What is the job called")).fill("Millrace Row, read out")
    expect(page.get_by_label(re.compile("was at this address"))).to_be_visible()
    _to(page, "button", "Write this job").press("Enter")
    expect(page.get_by_role("heading", level=1)).to_contain_text("Millrace Row, read out")
    (path,) = workspace.glob("*/*-millrace-row-read-out.yaml")
    _told_apart(page, "the job")

    height = _to(page, "textbox", re.compile("^Height height"))
    height.fill("44 ft")
    status = page.get_by_role("status").first
    expect(status).to_contain_text(re.compile("^(Held|Not ready)"))
    expect(height).to_be_focused()
    _told_apart(page, "the job held")
    height.fill("tall")
    expect(height).to_have_attribute("aria-invalid", "true")
    expect(height).to_have_accessible_description(re.compile("cannot be read as a length"))
    expect(status).to_contain_text("Not ready")
    _told_apart(page, "the job with a fault")
    height.fill("26 ft")
    expect(status).to_contain_text(re.compile("^Go"))
    height.press("Control+s")
    expect(page.get_by_text("Not saved")).to_have_count(0)
    assert "26 ft" in path.read_text(encoding="utf-8")

    _to(page, "link", "Pages").press("Enter")
    expect(page.get_by_role("heading", level=1)).to_contain_text("Pages")
    _told_apart(page, "the pages")
    _to(page, "button", re.compile(r"^Make \d+ PDFs?$")).press("Enter")
    expect(page.get_by_role("status", name="What was printed")).to_contain_text(path.stem)


@pytest.mark.parametrize("place", ["Rig", "Shelf", "Company", "Done"])
def test_every_control_is_told_apart(page: Any, place: str) -> None:
    page.get_by_role("link", name=place, exact=True).first.press("Enter")
    expect(page.get_by_role("heading", level=1)).to_be_visible()
    expect(page.get_by_role("link", name=place, exact=True).first).to_have_attribute("aria-current", "page")
    _told_apart(page, place)
