"""What one mix or job leaves for the next: heels, flushes, meetings, runoff, what makes it harmless."""
