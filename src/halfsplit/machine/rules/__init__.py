"""Static rules: what a tired transcriber gets wrong, found without solving anything. ``catalogue`` lists them."""
