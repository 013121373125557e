"""Pictures where people would rather look: vectors with values on them, legible in a grey copy."""
