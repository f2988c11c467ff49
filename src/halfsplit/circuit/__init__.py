"""Electrical networks as plain arrays: solving them, what a meter shows, a SPICE deck as judge.

Nothing here knows a machine, a part or a fault by name; a fault is a tuple of edits to branches.
"""
