"""The owner's configuration: one TOML file a pit, found, read, checked and turned into a `Setup`."""

from firebox.config.load import Loaded, find, load, name_in, read, write_first
from firebox.config.schema import Config, PitTable

__all__ = ["Config", "Loaded", "PitTable", "find", "load", "name_in", "read", "write_first"]
