"""The tests: a package, so that no other distribution's `tests` takes their name."""
