"""How a job list is read: decided per column, from all its cells, one topic per file."""
