"""What the sky does while the job is on: weather at each thing's own hours, and daylight."""
