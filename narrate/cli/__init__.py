"""The command line: one file a verb, which parses options and calls the public function."""
