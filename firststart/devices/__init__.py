"""The edge: voice out, ears, keys and pedal, screen, wall clock. Each has a twin that ships."""
