"""Still and moving water in nests, tubes, valves and tanks: pure functions, no files."""
