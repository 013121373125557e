"""What is mixed: targets and lots as they stand today, weighing and pouring, what a dial or injector draws."""
