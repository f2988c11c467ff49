"""Quantities as the trade writes them ('9.2k', 'OL', '155F', '23,4') to SI floats and back; see ``parse``."""
