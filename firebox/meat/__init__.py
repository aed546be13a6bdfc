"""The meat: conduction with a drying surface, kinetics, stages, food-safety clocks, and what its probe adds to them."""
