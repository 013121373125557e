"""The beds: watered before, while mix is out and after, often enough and with enough.

With two they never wait longer than they may while mix is on a wall.  A crew of one waters at a shut gun: they wait a
share longer while it is shut, and what it is open comes on top, up to once as long as they may wait.
"""

from __future__ import annotations

from math import inf
from typing import Final

from planner.plan.procedure.acts import Act, WaterBed
from planner.rehearsal.breach import Log
from planner.rehearsal.crew import AT_ONCE
from planner.rehearsal.pours import Pours
from planner.rehearsal.rig import OUTSIDE, Flow, Rig
from planner.rehearsal.setting import Setting
from planner.rehearsal.vessels import LEAST
from planner.rehearsal.walls import Walls

_WITHIN: Final = 0.95
"""The contract lets a wetting be short by as much."""


class Waterings:
    """What the beds have had, and when."""

    def __init__(self, setting: Setting, rig: Rig, pours: Pours, log: Log) -> None:
        """Nothing yet."""
        self.setting, self.rig, self.pours, self.log = setting, rig, pours, log
        self.last = -inf
        self.open = 0.0
        self.open_in_all = 0.0
        self.opened_at = -inf

    def watering(self, act: Act, water: WaterBed, seconds: float, now: float, walls: Walls) -> Flow | None:
        """Water on the beds."""
        log, rig = self.log, self.rig
        if self.setting.beds is None:
            log.add("order", act.id, f"nobody asked for water on {water.bed}")
        if act.who == "lead" and self.setting.crew < 2 and any(line.open for line in rig.lines.values()):
            log.add("people", act.id, "the gun is open while the beds are watered")
        self.due(act, now, walls)
        rig.watered.append((now, max(seconds, AT_ONCE), water.volume))

        def pour(volume: float) -> None:
            mixture = rig.out_of(act, water.source, volume)
            rig.gone += volume
            rig.water += volume if water.source in OUTSIDE or water.source not in rig.mixed_in else 0.0
            rig.beds += volume
            if mixture and any(strength > LEAST for strength in mixture.values()):
                log.add("clean", act.id, f"{water.source} holds {', '.join(mixture)}, and {water.bed} gets it")

        if not self.pours.gives_water(act, water.source):
            return None
        return Flow(act, water.volume, seconds, pour, self.pours.from_tap(water.source, water.volume, seconds))

    def opens(self, act: Act, run: str, now: float, walls: Walls) -> None:
        """A gun opened that was shut: alone, the beds can wait."""
        line = self.rig.lines.get(run)
        if self.setting.crew > 1 or line is None or line.open:
            return
        self.due(act, now, walls)
        self.opened_at = now

    def shut(self, now: float, walls: Walls) -> None:
        """A gun shut."""
        self.open += self.open_now(now, walls)
        self.open_in_all += self.open_now(now, walls)
        self.opened_at = -inf

    def open_now(self, now: float, walls: Walls) -> float:
        """How long it has been open now, with mix out; nothing with two."""
        return max(now - max(self.opened_at, walls.since), 0.0) if self.opened_at > -inf else 0.0

    def watered(self, now: float) -> None:
        """The beds had theirs."""
        self.last, self.open = now, 0.0

    def due(self, act: Act, now: float, walls: Walls) -> None:
        """How long the beds went without water while mix was on a wall, up to now."""
        beds = self.setting.beds
        if beds is None or not walls.since < inf:
            return
        dry = now - max(self.last, walls.since)
        most = beds.every if self.setting.crew > 1 else beds.every * beds.alone + min(self.open, beds.every)
        if dry > most + AT_ONCE:
            told = f"{self.log.time(dry)} with mix out, the limit is {self.log.time(most)}"
            self.log.add("order", act.id, f"the beds were dry for {told}")

    def over(self, act: Act, now: float, walls: Walls) -> None:
        """No wall has mix on it any more: the beds had all but the last of what they are owed."""
        beds = self.setting.beds
        if beds is None:
            return
        if self.setting.crew > 1:
            self.due(act, now, walls)
        waits = now - walls.since - self.open_in_all - self.open_now(now, walls)
        owed = _WITHIN * beds.each * (waits / beds.every - 1.0)
        # What ran while mix came out counts for the part after it.
        had = sum(
            volume * min(max((start + lasts - walls.since) / lasts, 0.0), 1.0)
            for start, lasts, volume in self.rig.watered
        )
        if had < owed - LEAST:
            told = f"{self.log.volume(had)} in {self.log.time(now - walls.since)}; at least {self.log.volume(owed)}"
            self.log.add("order", act.id, f"the beds get {told} with mix out")
        self.open_in_all = 0.0
