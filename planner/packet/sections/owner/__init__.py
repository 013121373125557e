"""The owner's file: summary, worksheet, every check."""
