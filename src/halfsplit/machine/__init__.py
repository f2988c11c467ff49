"""What a machine file says: reading it, the table of part types, expansion to the model, and the static rules.

``loading`` reads a file, ``library`` finds one, ``model`` is what comes out. Knows no solver and no drawing.
"""
