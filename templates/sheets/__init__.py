"""The phone page's text, style and script."""
