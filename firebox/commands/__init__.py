"""One module a command, each with a `command`: it parses, calls the wiring, prints, and sets the exit status."""
