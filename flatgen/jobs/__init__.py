"""The jobs of the commands, one file each: calls in order, from what was read to what is written."""
