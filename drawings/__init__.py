"""Paper: sheets described once, and every format written from that description.

Takes: a SettingOut. Gives: DXF, SVG, PDF, booklet, phone page, tables. Knows nothing of how shapes are worked out.
"""
