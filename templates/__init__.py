"""templates."""
