"""Pictures beside the wiring: contact chart, bays, connector face, bars of causes, curves. One SVG writer for all."""
