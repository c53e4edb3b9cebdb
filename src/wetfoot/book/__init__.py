"""The season's book: an append-only record of what was seen, measured and done."""
