"""Written text to typed values.

Takes: YAML text. Gives: nodes that know where they stand, and frozen values read from them, with every
problem of a file at once. Knows nothing of gardens: the words of a garden belong to kinds and model.
"""
