"""The tables of planner/data as typed rows, each with its source there."""
