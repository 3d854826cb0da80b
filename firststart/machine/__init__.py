"""Compiles a procedure to an immutable table, takes one step in it, draws it, exports it as SCXML."""
