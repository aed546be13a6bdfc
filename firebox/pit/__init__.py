"""Sourced physics of a wood fire in a steel pit: pure functions, one subject a module."""
