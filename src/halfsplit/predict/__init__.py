"""What each candidate would show: readings with their spread, symptoms and looks as probabilities."""
