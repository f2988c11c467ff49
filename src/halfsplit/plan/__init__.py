"""Plan: the choice of the next step, on plain arrays; knows no machine files, circuits or sessions."""
