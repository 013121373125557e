"""What was done, typed in beside what was planned."""
