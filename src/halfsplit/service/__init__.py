"""What the faces call, one file a command: plain data in, plain data out, as the outside contract says.

The only place that joins the layers; knows nothing of terminals, colours or pages.
"""
