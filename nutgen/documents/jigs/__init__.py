"""The jigs on paper: what to print, how each is used, a picture of each."""
