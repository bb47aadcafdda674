"""The bench page: the job's files in this machine's browser. Pages are tables of routes; the core computes."""
