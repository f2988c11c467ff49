"""Pictures as SVG: the wiring of a machine, contact charts, bays, connector faces, bars and curves.

It takes what was solved elsewhere as a :class:`halfsplit.drawing.sheet.Sheet` and never solves anything.
"""
