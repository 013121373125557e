"""The questions of a new rig, part by part, and what it says once it is written."""
