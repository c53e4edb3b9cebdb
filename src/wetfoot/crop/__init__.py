"""How the crop grows, drinks and yields: pure functions, no files."""
