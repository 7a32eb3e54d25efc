"""Audio in, Recording out: decode, level check, recognise with hints, hear doubtful stretches again."""
