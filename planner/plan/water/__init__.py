"""Water by use, wall by wall; what tap and tanks give; the job on the clock."""
