"""The rehearsal: a procedure played against a small model of the rig before anything of it is printed.

It knows the acts, the rig, what was asked and what chemicals do to each other; of what made the acts it knows nothing.
What it does not understand is a breach.
"""
