"""Where the pit is, and where it is going."""
