"""The lettering that sheets are written with."""
