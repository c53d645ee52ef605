"""What several test folders share: generators of shapes and gardens, and readers of our own files."""
