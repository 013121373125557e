"""Models of the files people write; importing one name here is enough."""

from planner.inputs.models.base import Slip, Written
from planner.inputs.models.company import Company, Lot, Stock, SurfaceRow, SurfaceTable, Tested
from planner.inputs.models.curves import CurvePoint, DialPoint
from planner.inputs.models.day import Crew, Day, Forecast, Heel
from planner.inputs.models.gear import Cord, Hose, HoseSize, Motor, Pump, Shape, Suction, Tank, Tip
from planner.inputs.models.job import ChemicalUse, FlowTest, HoseRun, Job, SurfaceInput, Water
from planner.inputs.models.quantities import Amount, Rain
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
    "Forecast",
    "Heel",
    "Hose",
    "HoseRun",
    "HoseSize",
    "Job",
    "Loss",
    "Lot",
    "Motor",
    "Near",
    "Pump",
    "Rain",
    "Rig",
    "RigPower",
    "RoofWork",
    "Setup",
    "Shape",
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
    "Tip",
    "Water",
    "Weights",
    "Written",
    "YardJob",
]
