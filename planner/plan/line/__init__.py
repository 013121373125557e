"""A hose run as a line of water: the network and its solve, gear, joints and gauges, strain, throw, drift."""
