"""Symbols of parts in the style of IEC 60617 and IEEE 315, as tables of strokes: see :mod:`.table`."""
