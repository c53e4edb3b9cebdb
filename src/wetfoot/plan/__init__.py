"""The description of a bench and a season, its file, and what is wrong or risky in it."""
