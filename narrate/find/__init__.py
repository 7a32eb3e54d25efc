"""Words in, findings out: one file a stage, the list of stages in stages.py."""
