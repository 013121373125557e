"""Water in the order it flows: liquid, supply, suction, pump, line, tip, jet. SI floats in, SI floats out."""

from planner.light import without

# fluids takes numpy along wherever it is installed, at four fifths of its own time; what is used of it works on floats.
with without("numpy"):
    import fluids  # noqa: F401
