"""The questions of the season, each answered with a trace of how."""
