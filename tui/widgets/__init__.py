"""The parts of the screen, one a module; each draws a `Glance` and knows nothing else."""
