"""Many recordings: what is in a folder, what is done already, and finished work that appears whole."""
