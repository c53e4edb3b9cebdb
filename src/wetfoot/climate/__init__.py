"""The air around the bench: water it draws, heat it brings; pure functions, no files."""
