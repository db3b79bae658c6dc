"""Current against time: potential steps and successive additions."""
