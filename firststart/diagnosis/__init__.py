"""Outcomes to what is ruled out, left and found; the next check and why."""
