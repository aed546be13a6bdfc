"""Alarms: what they are, when they come and go, and the life cycle they lead."""
