"""A job rendered as text, HTML or JSON."""
