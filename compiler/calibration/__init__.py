"""From a profile as it is claimed to one that is measured: which balls tell most, and what their landings say."""
