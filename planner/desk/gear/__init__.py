"""Rig and shelf: what all jobs share, and what a change of it does to those that are booked."""
