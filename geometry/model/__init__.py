"""The garden as written, read and resolved.

Takes: a model file. Gives: a Garden whose elements have their shapes, or every problem of the file at
once. Knows nothing of paper, and of pegs only what control marks need.
"""
