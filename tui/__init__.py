"""The dashboard: shows what the watch knows and takes the cook's entries; it computes nothing about the fire."""
