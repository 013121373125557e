"""Rig and shelf in a real browser: typed, told, and saved by the button alone."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Page, expect

pytestmark = pytest.mark.browser

SIZES = ((1280, 800), (844, 390), (320, 256))


def opened(page: Page, place: str) -> Page:
    """One place of the desk."""
    page.goto(f"{'/'.join(page.url.split('/')[:3])}/{place}")
    page.set_default_timeout(20_000)
    expect.set_options(timeout=20_000)
    return page


def test_a_rig_is_saved_by_its_button_alone_with_the_changed_jobs_beside_it(page: Page, workspace: Path) -> None:
    file = workspace / "rigs/bittern.yaml"
    before = file.read_bytes()
    opened(page, "rig")
    hose = page.get_by_role("group", name="Hose: red 1", exact=True)
    hose.get_by_label("Bore").fill("1/2 in")
    told = page.get_by_role("region", name="Not saved yet")
    expect(told).to_contain_text("4 of 7 booked jobs change")
    expect(told).to_contain_text("Millrace Row, end terrace")
    expect(page.get_by_role("status")).to_contain_text("4 of 7 booked jobs change, and figures of 1 more.")
    page.keyboard.press("Enter")  # checks; it does not save
    page.keyboard.press("Tab")
    page.wait_for_timeout(2600)  # longer than a job waits before it is saved
    assert file.read_bytes() == before
    page.get_by_role("button", name="Save the rig").click()
    expect(page.get_by_role("region", name="Saved", exact=True)).to_contain_text("7 booked jobs depend on it")
    assert b"{name: red 1, bore: 1/2 in, length: 100 ft" in file.read_bytes()


def test_a_curve_is_drawn_anew_while_it_is_typed_and_its_fault_stands_at_it(page: Page) -> None:
    opened(page, "rig")
    pump = page.get_by_role("group", name="Pump: booster", exact=True)
    box = pump.get_by_label("Curve curve")
    points = box.input_value()
    box.fill(points.replace("66 psi", "76 psi"))
    expect(pump.get_by_text("The pressure rises with the flow, which no pump here does.")).to_be_visible()
    expect(pump.get_by_text("It is drawn once its figures can be read.")).to_be_visible()
    box.fill("[[0 gpm, 70 psi], [10 gpm, 40 psi], [20 gpm, 5 psi]]")
    expect(pump.get_by_role("img", name="The curve of booster through the 3 points in its file.")).to_be_visible()
    expect(box).to_be_focused()
    page.get_by_role("button", name="Drop the change").click()
    expect(box).to_have_value(points)


def test_what_is_typed_in_the_text_is_in_the_form_too(page: Page, workspace: Path) -> None:
    before = (workspace / "rigs/bittern.yaml").read_bytes()
    opened(page, "rig")
    page.get_by_text("Text", exact=True).click()
    text = page.get_by_label("The file's whole text")
    text.fill(text.input_value().replace("- {name: red 1, bore: 3/4 in", "- {name: red one, bore: 1 in"))
    expect(page.get_by_role("region", name="Not saved yet")).to_contain_text("7 of 7 booked jobs change")
    page.get_by_text("Form", exact=True).click()
    expect(page.get_by_role("group", name="Hose: red one").get_by_label("Bore")).to_have_value("1 in")
    page.get_by_role("button", name="Undo").click()
    expect(page.get_by_role("group", name="Hose: red 1", exact=True).get_by_label("Bore")).to_have_value("3/4 in")
    expect(page.get_by_role("region", name="Saved", exact=True)).to_be_visible()
    assert (workspace / "rigs/bittern.yaml").read_bytes() == before


def test_a_test_typed_on_the_shelf_shows_its_strength_and_waits_for_the_button(page: Page, workspace: Path) -> None:
    before = (workspace / "stock.yaml").read_bytes()
    opened(page, "shelf")
    lot = page.get_by_role("group", name="H-0518 bleach")
    lot.get_by_label("On hand").fill("1 gal")
    page.get_by_role("group", name="H-0601 bleach").get_by_label("On hand").fill("2 gal")
    expect(page.get_by_role("region", name="Not saved yet")).to_contain_text("then Held")
    expect(lot).to_contain_text("the shelf lacks it")
    assert (workspace / "stock.yaml").read_bytes() == before
    page.get_by_role("button", name="Save the shelf").click()
    expect(page.get_by_role("region", name="Saved", exact=True)).to_be_visible()
    assert (workspace / "stock.yaml").read_bytes() == before.replace(b"on_hand: 9.5 gal", b"on_hand: 1 gal").replace(
        b"on_hand: 48 gal", b"on_hand: 2 gal"
    )


def test_a_new_rig_is_filled_in_by_keyboard_alone(page: Page, workspace: Path) -> None:
    opened(page, "newrig")

    def say(label: str, text: str) -> None:
        box = page.get_by_label(label)
        box.focus()
        page.keyboard.type(text)
        page.keyboard.press("Tab")

    say("What is the rig called", "Finch")
    say("Water tank: how much it holds, full", "200")
    say("First pump, the main one", "multistage")
    say("Its plate: pressure", "60")
    say("Its best point", "10 at 90")
    expect(page.get_by_text("No pump makes more pressure at its best point")).to_be_visible()
    page.get_by_label("Its best point").press("Control+a")
    say("Its best point", "10 at 45")
    expect(page.get_by_text("No pump makes more pressure at its best point")).to_have_count(0)
    say("What turns it", "engine")
    say("First hose, pump to gun", "3/4 in x 200 ft")
    say("First tip, the main one", "solid")
    say("Its hole, as 1/4 in", "1/4")
    page.get_by_role("button", name="Write this rig").press("Enter")
    expect(page.get_by_role("heading", name="Finch", level=1)).to_be_visible()
    assert "{name: hose, bore: 3/4 in, length: 200 ft}" in (workspace / "rigs/finch.yaml").read_text(encoding="utf-8")


@pytest.mark.parametrize("size", SIZES)
def test_no_place_scrolls_sideways_and_every_target_is_big_enough(page: Page, size: tuple[int, int]) -> None:
    page.set_viewport_size({"width": size[0], "height": size[1]})
    for place in ("rig", "shelf", "newrig"):
        opened(page, place)
        wide: list[int] = page.evaluate("[document.documentElement.scrollWidth, innerWidth]")
        assert wide[0] <= wide[1], place
        small: list[Any] = page.evaluate(
            """[...document.querySelectorAll('main button, main select, main input, main summary')]
            .map(one => [one.textContent || one.name, one.getBoundingClientRect(), getComputedStyle(one).opacity])
            .filter(([, box, opacity]) => box.width > 1 && opacity !== '0' && (box.width < 24 || box.height < 24))
            .map(([name, box]) => [name, box.width, box.height])"""
        )
        assert not small, place
