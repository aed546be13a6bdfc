"""What the cook should do next, and why; more often than not, nothing."""
