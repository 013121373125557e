"""A driveway is called `drive` as the way there is: the clock must tell them apart."""

from __future__ import annotations

from pathlib import Path

from planner.packet.sections.crew.done import times
from planner.packet.sections.day import _order
from planner.packet.sections.hours import on_site
from planner.plan.days.day import plan_day
from planner.plan.water.timing import arrival_of
from tests import workspaces


def test_a_surface_called_drive_is_work_and_not_the_road(tmp_path: Path) -> None:
    apart = {}
    for name in ("drive", "yard"):
        written = workspaces.base()
        written["day"] |= {"leave_yard": "07:00", "drive": {"10-case": "25 min"}}
        written["job"]["surfaces"] = [{"name": name, "kind": "concrete", "area": "500 ft2"}]
        checked = workspaces.checked(tmp_path / name, written)
        day = plan_day([checked.plan])
        (row,) = _order(day, [checked], "us").rows
        boxes = [(box.label, box.planned) for box in times(checked.plan, "us")]
        apart[name] = (on_site(checked.plan), arrival_of(checked.plan.time), row[2:5], boxes)
    assert apart["drive"] == apart["yard"]
    _, arrives, row, _ = apart["drive"]
    assert arrives == 7 * 3600 + 25 * 60
    assert row[0] == "25"
