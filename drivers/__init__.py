"""Everything that touches the outside: probe sources and notices."""
