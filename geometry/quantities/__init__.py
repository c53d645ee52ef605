"""Quantities to order by: units laid and counted, walls, digs, timber, steps, loose and soft materials.

Takes: shapes of the kernel, sizes and ordering options. Gives: items, each with the few words that say how it
was worked out, and the unit layouts that the sheets draw. Knows nothing of YAML forms, elements or paper.
"""
