"""The only place that joins rooms to the world: read input, decide, append, fold, present."""
