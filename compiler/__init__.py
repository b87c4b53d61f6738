"""Turn a feed script into checked balls."""
