"""Calculators from quantities to quantities, one file a subject; SI floats inside, quantities at the edge."""
