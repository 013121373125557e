"""What is in the mix: strengths, ageing, dilution, dosing, washing out, neutralising. SI floats in and out.

A strength is always kg of the active per m3 of liquid, which is the same number as g/L.  For hypochlorite
the active is available chlorine, for muriatic acid HCl, otherwise the compound itself as sold.
"""

from planner.light import without

with without("numpy"):  # as planner/physics
    import fluids  # noqa: F401
