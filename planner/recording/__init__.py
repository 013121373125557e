"""What can be written down of a job, what it is held against, and from where it comes in."""
