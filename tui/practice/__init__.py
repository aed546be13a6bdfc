"""The practice round on the dashboard: the opening screen, the fire as it is seen, the instructor, the score."""
