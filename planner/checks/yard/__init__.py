"""Checks of a pump on the bench."""
