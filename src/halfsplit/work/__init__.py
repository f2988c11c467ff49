"""Work: what a repair takes: bays, repairs, prices, the proof run, and which step is safe when."""
