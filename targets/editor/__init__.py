"""What editors talk to: the language service over the Language Server Protocol."""
