"""The pages: how a person reaches the season without a terminal."""
