"""planting."""
