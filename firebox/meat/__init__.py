"""The meat, as its probe tells."""
