"""Duty: may the starter turn now, for how long, how long to cool; the heat of its winding."""
