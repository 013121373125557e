"""What cures a finding of another tip than the run's own, and what readings with that tip on say."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from planner.cli import main
from planner.packet.blocks import Heading, walked
from planner.plan.wear.altered import solve_altered
from planner.remedies.edits import edits_of
from planner.remedies.search import with_remedies
from tests import workspaces
from tests.packet.printing import owner_worded
from tests.packet.sections.acts.test_calls import words
from tests.plan.line.test_roles import GPM, RIG, files, plan_of

LONG = {"name": "long", "pattern": "solid", "orifice": "0.14 in"}
WALL: dict[str, Any] = {
    "surfaces": [{"name": "front", "kind": "vinyl", "area": "600 ft2"}], "building": {"height": "24 ft"},
}  # fmt: skip


def eave(role: dict[str, Any] | str = "rinse fan") -> dict[str, Any]:
    """A wall of 24 ft that its mix reaches and its rinse fan does not."""
    made = files({"tip": "long", "rinse_tip": role, "target": "24 ft", "standoff": "8 ft"}, **WALL)
    made["rig"]["tips"] = [*RIG["tips"], LONG, {**LONG, "name": "other long", "orifice": "0.15 in"}]
    return made


@pytest.mark.ci
def test_a_rinse_tip_that_does_not_reach_is_cured_by_another_to_rinse_through(tmp_path: Path) -> None:
    job = with_remedies(workspaces.checked(tmp_path, eave()))
    (finding,) = (one for one in job.findings if one.code == "reach.pattern" and one.level == "stop")
    assert finding.tip == "rinse fan"
    cures = [one for one in job.remedies if one.code == "reach.pattern" and one.on_rig]
    assert cures
    assert {change.kind for change in cures[0].changes} == {"rinse_tip"}
    assert not any(change.kind == "tip" for one in cures for change in one.changes), "its own tip is none of it"
    for one in cures:
        ((key, text),) = edits_of(job.plan.input, one)
        assert key == "hose_runs[0].rinse_tip"
        assert text in ("long", '"other long"', "other long")
        # What is told to be written, written, has the finding no more.
        again = workspaces.checked(tmp_path / text.strip('"'), eave(text.strip('"')))
        assert not [f for f in again.findings if f.code == "reach.pattern" and f.level == "stop"]


@pytest.mark.ci
def test_where_it_has_a_line_of_its_own_the_line_stays_with_the_other_tip(tmp_path: Path) -> None:
    made = eave({"tip": "rinse fan", "hoses": ["line", "whip"]})
    made["rig"]["hoses"] = [*RIG["hoses"], {**RIG["hoses"][0], "name": "whip", "length": "20 ft"}]
    job = with_remedies(workspaces.checked(tmp_path, made))
    edits = [edits_of(job.plan.input, one) for one in job.remedies if one.code == "reach.pattern" and one.on_rig]
    assert edits
    assert all(text.endswith("hoses: [line, whip]}") for row in edits for _, text in row), edits


def test_a_line_altered_with_another_tip_on_draws_no_stock(tmp_path: Path) -> None:
    """The piston gives 5.5 gpm; behind the injector's own tip 6.05 leave it, behind any other no more."""
    plan = plan_of(tmp_path)
    (run,) = plan.runs
    for one, flow in ((run, 6.05), (run.roles["rinse_tip"], 5.5)):
        assert solve_altered(plan.input, one, one.input).flows[0] == pytest.approx(flow * GPM, rel=1e-9)


def test_readings_with_another_tip_on_are_held_against_that_tip(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = str(workspaces.write(tmp_path, files()))
    assert main(["check", "--json", path, "--bucket", "5 gal in 55 s", "--tip", "rinse fan"]) in (0, 1, 2)
    measured = json.loads(capsys.readouterr().out)["jobs"][0]["measured"]
    assert measured["tip"] == "rinse fan"
    assert measured["readings"][0]["planned_m3_per_s"] == pytest.approx(5.5 * GPM, rel=1e-6)


@pytest.mark.parametrize(
    ("options", "code", "told"),
    [
        (["--tip", "rinse fan"], "measured.missing", "`--tip` alone measures nothing"),
        (["--tip", "rose", "--gauge", "60 psi"], "measured.tip", "`flat` has no tip `rose` on this job"),
    ],
)
def test_a_tip_that_is_none_of_the_run_s_is_one_fault(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], options: list[str], code: str, told: str
) -> None:
    assert main(["check", str(workspaces.write(tmp_path, files())), *options]) == 2
    err = " ".join(capsys.readouterr().err.split())
    assert code in err
    assert told in err


def test_the_owner_s_worksheet_has_each_tip_s_curves(tmp_path: Path) -> None:
    job = workspaces.checked(tmp_path, files(), tables=True)
    heads = [
        words(block.spans)
        for section in owner_worded(job).sections
        if section.key == "worksheet"
        for block in walked(section.blocks)
        if isinstance(block, Heading)
    ]
    for tip in ("treat fan", "rinse fan", "spinner"):
        assert f"Pump meets line, {tip}" in heads
