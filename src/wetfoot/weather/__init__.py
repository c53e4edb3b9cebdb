"""Weather files: one reader per open format, all giving the same daily table."""
