"""The pit's brain, and the program around it."""
