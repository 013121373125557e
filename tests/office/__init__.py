"""Tests of what an office asks of all its jobs."""
