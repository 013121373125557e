"""What readings say of a pump, and what a worn one, another hose or another tip would do."""
