"""Pegbook: what `import pegbook` offers."""
