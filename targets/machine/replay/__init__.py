"""A saved program played over a serial line: the host's side, a virtual device, and the screen for the player."""
