"""A job joined with its rig, shelf, day and what was learned, into one input for the plan."""
