"""The rig before and after a job's acts: two whole procedures written out by hand, and jobs the plan makes."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path
from types import MappingProxyType
from typing import Any

import pytest

from planner.locate import jobs
from planner.plan.mix_model import Carried, TankHeel
from planner.plan.procedure.acts import Act, Detail, Drain, Fill, Held, Neutralise, Pour, SetDosing, Spray, State, Stir
from planner.plan.procedure.acts import Draw as From
from planner.plan.procedure.acts import DrawFrom, Procedure
from planner.plan.procedure.state import Known, begin, drawn_by_lot, end, known, water_left
from tests.acts_read import procedure_from
from tests.plan.procedure.asking import GALLON, asked_of, book_of, job_at, job_in
from tests.workspaces import base, merged

WRITTEN = Path("/work/shared/reference")
REFERENCE = ("procedure_house.json", "procedure_roof_one_person.json")
