"""A saved program played over a serial line: the host's side, a simulated machine, and the screen for the player."""
