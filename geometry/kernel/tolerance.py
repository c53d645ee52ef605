"""Named distances, in metres, and what each is for. None is a literal anywhere else."""

NODE = 1e-7
"""Kernel: points nearer than this are one node. Absorbs rounding; not a user's notion."""

JOINT = 1e-6
"""Neighbouring segments whose ends are further apart than this do not make a path."""

WELD = 5e-4
"""Outlines taken from elsewhere are welded at this distance, explicitly and never in silence."""

FIT = 1e-3
"""Ellipses and flowing curves may stray this far from their tangent arcs."""

PRINTED = 5e-4
"""Half of the last figure that tables print (millimetres)."""

TANGENT = 1e-6
"""Two headings (radians) nearer than this are one: the joint is smooth."""
