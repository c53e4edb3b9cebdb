"""The steps that bring a book's tables from one version to the next."""
