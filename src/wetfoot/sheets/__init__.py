"""What is printed and taken to the yard."""
