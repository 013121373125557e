"""Start-up stays light: the equations never import numpy or scipy, which double it."""

from __future__ import annotations

import subprocess
import sys

CODE = """
import importlib, pkgutil, sys
import planner.physics
for module in pkgutil.iter_modules(planner.physics.__path__):
    importlib.import_module(f"planner.physics.{module.name}")
from planner.physics import hoses, jets, liquids
hoses.friction_factor(5000.0, 1e-4), hoses.coiled_friction_factor(9000.0, 0.019, 0.5, 1e-5)
jets.highest_at(28.0, 0.00635, 3.0), liquids.atmospheric_pressure(300.0)
print(sorted(name for name in sys.modules if name.split(".")[0] in ("numpy", "scipy", "pandas", "wntr")))
"""


def test_physics_works_without_importing_numpy_or_scipy() -> None:
    done = subprocess.run([sys.executable, "-c", CODE], capture_output=True, text=True, check=True, timeout=60)
    assert done.stdout.strip() == "[]"
