"""A virtual engine and person on a virtual clock; plays a scenario through the same code."""
