"""One file a step. A step that was published is never changed; a later one mends it.

On SQLite `batch_alter_table` makes a table anew without its checks and without AUTOINCREMENT: name both in it.
"""
