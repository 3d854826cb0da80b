"""The engine profile, its defaults by kind of engine (data), and what applies to it."""
