"""Playing along with a tune."""
