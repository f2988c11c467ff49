"""Failure modes: every fault that a machine can have, as changes to its primitives, with its rate and its repair."""
