"""From the entries of a machine file, the part types and the supply system to the model, naming all that is wrong."""
