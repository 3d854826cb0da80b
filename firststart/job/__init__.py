"""Which facts follow from an answer; facts folded to the situation; the plan; hold points and their freshness."""
