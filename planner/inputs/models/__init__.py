"""Models of the files people write; importing one name here is enough."""

from planner.inputs.models.base import Slip, Written
from planner.inputs.models.company import Company, Lot, Stock, SurfaceRow, SurfaceTable, Tested
from planner.inputs.models.curves import CurvePoint, DialPoint
from planner.inputs.models.day import Crew, Day, Forecast, Heel
from planner.inputs.models.gear import Cord, Hose, HoseSize, Motor, Pump, Shape, Suction, Tank, Tip
from planner.inputs.models.job import ChemicalUse, FlowTest, HoseRun, Job, SurfaceInput, WallBefore, Water
from planner.inputs.models.learned import Learned, LearnedLot, LearnedPump, LearnedSurface, LearnedTap
from planner.inputs.models.quantities import Amount, Rain
from planner.inputs.models.record import (
    FlushDone,
    LotDone,
    MixDone,
    PumpWork,
    ReadingsDone,
    Record,
    SideDone,
    TimesDone,
    WaterDone,
)
from planner.inputs.models.rig import Carried, Dosing, Loss, Rig, RigPower, Setup, SupplyHose, Weights
from planner.inputs.models.site import Accept, Access, Building, Near, RoofWork, Site
from planner.inputs.models.yard import Bath, YardJob

__all__ = [
    "Accept",
    "Access",
    "Amount",
    "Bath",
    "Building",
    "Carried",
    "ChemicalUse",
    "Company",
    "Cord",
    "Crew",
    "CurvePoint",
    "Day",
    "DialPoint",
    "Dosing",
    "FlowTest",
    "FlushDone",
    "Forecast",
    "Heel",
    "Hose",
    "HoseRun",
    "HoseSize",
    "Job",
    "Learned",
    "LearnedLot",
    "LearnedPump",
    "LearnedSurface",
    "LearnedTap",
    "Loss",
    "Lot",
    "LotDone",
    "MixDone",
    "Motor",
    "Near",
    "Pump",
    "PumpWork",
    "Rain",
    "ReadingsDone",
    "Record",
    "Rig",
    "RigPower",
    "RoofWork",
    "Setup",
    "Shape",
    "SideDone",
    "Site",
    "Slip",
    "Stock",
    "Suction",
    "SupplyHose",
    "SurfaceInput",
    "SurfaceRow",
    "SurfaceTable",
    "Tank",
    "Tested",
    "TimesDone",
    "Tip",
    "WallBefore",
    "Water",
    "WaterDone",
    "Weights",
    "Written",
    "YardJob",
]
