"""Stand-ins for hardware, as low as they can sit: for tests, and for trying the program without a pit."""
