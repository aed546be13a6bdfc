"""Back from the serving hour: when the meat goes on, when to feel it, how long it rests, and how sure that is."""
