"""One module a command, imported only when that command runs."""
