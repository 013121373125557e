"""A joined job becomes a plan: hydraulics and chemistry meet here and nowhere else."""
