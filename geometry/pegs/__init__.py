"""pegs."""
