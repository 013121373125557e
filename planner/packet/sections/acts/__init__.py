"""The procedure on paper: whose step, in which words, folded where it repeats."""
