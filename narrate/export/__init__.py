"""A walkaround written as files, one format a module."""
