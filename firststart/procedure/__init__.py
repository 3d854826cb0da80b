"""YAML text to a frozen checked model, or to the whole list of problems with line numbers."""
