"""What a machine does to itself: in each condition, under each fault, its devices settle one at a time."""
