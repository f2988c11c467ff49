"""Quantities as the trade writes them ('9.2k', 'OL', '155F', '23,4') to SI floats and back.

``parse.parse`` reads, ``display.display`` shows; ``model`` has what comes out, ``dimension`` what may be
asked for, ``units`` the table of units. Knows nothing of machines: only ``halfsplit.errors`` stands below.
"""
