"""The season computed day by day from the description and the weather."""
