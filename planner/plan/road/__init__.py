"""What rides and what it weighs, what a rig draws of its power, the rules of its rig card."""
