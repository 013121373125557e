"""Water in the order it flows: liquid, supply, suction, pump, line, tip, jet. SI floats in, SI floats out."""
