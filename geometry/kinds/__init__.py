"""kinds."""
