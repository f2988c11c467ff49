"""Rules of the wiring that need behaviour: what a healthy machine does in all its settings that it should not."""
