"""What was done held against what was planned: differences, likely causes, trends, what is learned of them."""
