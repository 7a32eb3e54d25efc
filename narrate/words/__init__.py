"""The lexicon: checked, compiled words of the trade."""
