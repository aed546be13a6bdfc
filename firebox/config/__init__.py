"""The owner's configuration: one TOML file a pit, found, read, checked and turned into a `Setup`."""

from firebox.config.load import Loaded, find, load, read, write_first
from firebox.config.schema import Config

__all__ = ["Config", "Loaded", "find", "load", "read", "write_first"]
