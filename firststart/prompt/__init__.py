"""What to say and show; what the person's words mean."""
