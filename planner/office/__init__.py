"""What an office asks of all its jobs at once: where each stands, what is due, a month's sums, a calendar."""
