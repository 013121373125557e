"""Plans tomorrow's exterior-washing jobs the night before and prints the crew's packet."""

__version__ = "0.1.0"
