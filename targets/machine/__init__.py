"""What runs a machine: profiles of feeders, the line protocol, the replay of a plan, the simulated machine."""
